// CRC-32 as ISO 3309 and PNG have it (polynomial 0x04c11db7, reflected).
#pragma once

#include <cstdint>
#include <string_view>

namespace bedwright {

std::uint32_t crc32(std::string_view bytes);

}  // namespace bedwright
