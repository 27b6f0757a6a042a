// Checks a document against the kit schema, fills its defaults, and collects its notes. The subset of JSON Schema
// draft-07 that docs/kit.schema.json uses, plus two keywords of our own that validators ignore:
//   x-usual [least, greatest]     where values of working machines lie; only used to guess unit slips
//   x-matters-if "key" or "key=value,..."   a default that is only worth telling when another key is set so
#pragma once

#include <string>
#include <vector>

#include "base/error.h"
#include "kit/kit.h"

namespace bedwright {

/// Keywords that the walk understands; a test holds the schema to them.
const std::vector<std::string>& known_schema_keywords();

/// A keyword of a schema: its own, or that of what it refers to; nullptr if neither has it.
const Json* schema_keyword(const Json& root, const Json& schema, const std::string& keyword);

/// The branch of a `oneOf` that fits the value: by the key that has a `const` in every branch, else by type.
/// nullptr if none does. A schema without `oneOf` is its own branch.
const Json* schema_branch(const Json& root, const Json& schema, const Json& value);

/// The schema of what the pointer points to, with branches chosen by the document; nullptr if there is none.
const Json* schema_at(const Json& root, const Json& document, const std::string& pointer);

/// Adds every problem; fills defaults where the rest allows. `assumed` gets pointer and value with unit of each
/// default.
void check_against_schema(const Json& root, Json& document, std::vector<Problem>& problems, std::vector<Note>& notes,
                          std::vector<Note>& assumed);

}  // namespace bedwright
