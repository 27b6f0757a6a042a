#include "kit/slips.h"

#include <algorithm>
#include <cmath>

#include "base/numbers.h"

namespace bedwright {
namespace {

bool ends_with(const std::string& text, const std::string& end) {
  return text.size() >= end.size() && text.compare(text.size() - end.size(), end.size(), end) == 0;
}

std::string folded(const std::string& word) {
  std::string text;
  for (const char c : word) {
    if (c >= 'A' && c <= 'Z') {
      text += static_cast<char>(c - 'A' + 'a');
    } else {
      text += c == '-' || c == ' ' ? '_' : c;
    }
  }
  return text;
}

struct Guess {
  double value;
  std::string from;
};

/// A measured number has four or five figures; more would be an artefact of the conversion.
double tidy(double value) {
  const double step = value != 0 && std::fabs(value) < 10 ? 1000.0 : 100.0;
  return std::round(value * step) / step;
}

}  // namespace

std::size_t edit_distance(const std::string& a, const std::string& b) {
  const std::size_t rows = a.size() + 1, columns = b.size() + 1;
  std::vector<std::size_t> cost(rows * columns);
  const auto at = [&](std::size_t i, std::size_t j) -> std::size_t& { return cost[i * columns + j]; };
  for (std::size_t i = 0; i < rows; ++i) at(i, 0) = i;
  for (std::size_t j = 0; j < columns; ++j) at(0, j) = j;
  for (std::size_t i = 1; i < rows; ++i) {
    for (std::size_t j = 1; j < columns; ++j) {
      const std::size_t change = at(i - 1, j - 1) + (a[i - 1] == b[j - 1] ? 0 : 1);
      at(i, j) = std::min({at(i - 1, j) + 1, at(i, j - 1) + 1, change});
      if (i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1]) {
        at(i, j) = std::min(at(i, j), at(i - 2, j - 2) + 1);
      }
    }
  }
  return at(rows - 1, columns - 1);
}

std::string nearest(const std::string& word, const std::vector<std::string>& candidates) {
  // Longer words come from mistaken files, not from slips, and would cost time.
  if (word.empty() || word.size() > 60) return "";
  const std::string wanted = folded(word);
  std::string best;
  std::size_t least = std::max<std::size_t>(1, wanted.size() / 3) + 1;
  for (const std::string& candidate : candidates) {
    const std::string have = folded(candidate);
    std::size_t distance = edit_distance(wanted, have);
    const std::string unit = unit_of(candidate);
    const std::size_t cut = have.find_last_of('_');
    if (!unit.empty() && unit != have && cut != std::string::npos) {
      const std::string quantity = have.substr(0, cut);
      distance = std::min(distance, edit_distance(wanted, quantity) + (distance > 0 ? 1 : 0));
      // The same quantity in another unit: radius_cm, radius_in.
      const std::size_t other = wanted.find_last_of('_');
      if (other != std::string::npos && wanted.substr(0, other) == quantity)
        distance = std::min<std::size_t>(distance, 1);
    }
    if (distance < least) {
      least = distance;
      best = candidate;
    }
  }
  return best;
}

std::string any_of_text(const std::vector<std::string>& words) {
  std::string text;
  for (std::size_t i = 0; i < words.size(); ++i) {
    if (i > 0) text += i + 1 == words.size() ? " or " : ", ";
    text += words[i];
  }
  return text;
}

std::string number_text(double value) {
  return std::fabs(value) < 1e15 ? decimal(value, 6) : shortest(value);
}

std::string unit_of(const std::string& key) {
  if (ends_with(key, "_um_per_mm")) return "um/mm";
  if (ends_with(key, "_n_per_mm")) return "N/mm";
  if (key == "mm") return "mm";
  for (const char* unit : {"mm", "um", "deg", "g", "c"}) {
    if (ends_with(key, std::string("_") + unit)) return unit;
  }
  return "";
}

std::string unit_sentence(const std::string& key) {
  const std::string unit = unit_of(key);
  if (unit == "mm") return "in millimetres";
  if (unit == "um") return "in micrometres";
  if (unit == "um/mm") return "in micrometres per millimetre";
  if (unit == "deg") return "in degrees";
  if (unit == "g") return "in grams";
  if (unit == "c") return "in degrees Celsius";
  return "";
}

std::string unit_slip(const std::string& key, double value, double usual_least, double usual_greatest) {
  const std::string unit = unit_of(key);
  std::vector<Guess> guesses;
  if (unit == "mm") {
    guesses = {
        {value * 1000, "metres"}, {value * 25.4, "inches"}, {value * 10, "centimetres"}, {value / 1000, "micrometres"}};
  } else if (unit == "um") {
    guesses = {{value * 1000, "millimetres"}, {value * 25400, "inches"}};
  } else if (unit == "g") {
    guesses = {{value * 1000, "kilograms"}, {value * 28.349523125, "ounces"}};
  } else if (unit == "c") {
    guesses = {{(value - 32) / 1.8, "degrees Fahrenheit"}, {value - 273.15, "kelvin"}};
  }
  std::string text, from;
  int found = 0;
  for (const Guess& guess : guesses) {
    if (guess.value < usual_least || guess.value > usual_greatest || guess.value == value || found == 2) continue;
    const std::string number = number_text(tidy(guess.value));
    text += found == 0 ? "did you mean " + number : " (from " + from + ") or " + number + " (from " + guess.from + ")";
    from = guess.from;
    ++found;
    // A thousand leaves no doubt; the others are near enough to each other to be mistaken.
    if (guess.from == "metres" || guess.from == "kilograms" || guess.from == "millimetres") break;
  }
  if (found == 0) return "";
  return text + "? " + key + " is " + unit_sentence(key) +
         (found == 1 ? ", " + number_text(value) + " looks like " + from : "");
}

}  // namespace bedwright
