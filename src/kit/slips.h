// Guesses at what a person meant: the nearest word, and the unit that a number was written in.
#pragma once

#include <string>
#include <vector>

namespace bedwright {

/// Single-letter changes, insertions, deletions and swaps of neighbours that turn a into b.
std::size_t edit_distance(const std::string& a, const std::string& b);

/// The candidate that `word` most likely means, or empty. Case, spaces, hyphens and a missing unit (`radius`
/// for `radius_mm`) count little.
std::string nearest(const std::string& word, const std::vector<std::string>& candidates);

/// "`a`, `b` or `c`".
std::string any_of_text(const std::vector<std::string>& words);

/// At most 6 decimals, no trailing zeros.
std::string number_text(double value);

/// What the end of a key says about its unit: "mm", "um", "g", "deg", "c", "um/mm", or empty.
std::string unit_of(const std::string& key);
/// The unit in words, for a sentence: "in millimetres".
std::string unit_sentence(const std::string& key);

/// For a number outside its range: a sentence on the likely unit slip, "did you mean 2600? radius_mm is in
/// millimetres". A guess is made only if it lands in [usual_least, usual_greatest]. Empty if none does.
std::string unit_slip(const std::string& key, double value, double usual_least, double usual_greatest);

}  // namespace bedwright
