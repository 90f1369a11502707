// Any bytes as case.json: either refused with an Error, or a case that is written and read
// unchanged.

#include <cstdint>
#include <cstdlib>
#include <string_view>

#include "src/case/case_json.h"
#include "src/errors.h"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const std::string_view text(reinterpret_cast<const char*>(data), size);
  howl::Case value;
  try {
    value = howl::case_of_json(text, "case.json");
  } catch (const howl::Error&) {
    return 0;
  }
  const std::string written = howl::json_of_case(value);
  if (howl::json_of_case(howl::case_of_json(written, "again")) != written) std::abort();
  return 0;
}
