// Days of the calendar as kits and profiles write them.
#pragma once

#include <string>

namespace bedwright {

/// Whether the text is year-month-day, as 2026-03-28, and that day exists (Gregorian; ISO 8601).
bool is_day(const std::string& text);

}  // namespace bedwright
