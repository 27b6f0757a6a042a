// Every reader of bytes that a stranger may have written, each with what it is shown first.
#pragma once

#include <string>
#include <vector>

namespace fuzz {

struct Target {
  const char* name;
  /// Reads the bytes. Returns whether they were taken; what the library throws for bad input is an answer, anything
  /// else is a fault.
  bool (*feed)(const std::string& bytes);
  std::vector<std::string> (*seeds)();
};

const std::vector<Target>& targets();
/// nullptr: there is no such target.
const Target* find_target(const std::string& name);

}  // namespace fuzz
