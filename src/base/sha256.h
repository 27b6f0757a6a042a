// SHA-256 (FIPS 180-4). Our own because Debian 12 has no header-only one and the core must also run in a browser.
#pragma once

#include <string>

namespace bedwright {

/// 64 lower-case hexadecimal digits.
std::string sha256(const std::string& bytes);
/// The same without the processor's own instructions for it: what runs where there are none.
std::string sha256_plain(const std::string& bytes);

}  // namespace bedwright
