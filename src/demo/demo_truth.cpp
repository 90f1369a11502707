#include "src/demo/demo_truth.h"

#include <nlohmann/json.hpp>

#include "src/errors.h"
#include "src/files/read_file.h"

namespace howl {
namespace {

constexpr std::size_t kLargestFile = 10'000'000;

/// Empty where it is null or missing: truth.json of an older version says less.
std::string text_in(const nlohmann::json& truth, const char* key) {
  const auto found = truth.find(key);
  return found != truth.end() && found->is_string() ? found->get<std::string>() : std::string();
}

DemoTruth truth_in(const nlohmann::json& json) {
  DemoTruth truth;
  truth.recipe = text_in(json, "recipe");
  truth.component = text_in(json, "component");
  truth.fault = text_in(json, "fault");
  truth.suspect = text_in(json, "suspect");
  truth.behaviour = text_in(json, "behaviour");
  truth.loudest_point = text_in(json, "loudest_point");
  truth.repaired = json.value("repaired", truth.fault.starts_with("repaired: "));
  return truth;
}

}  // namespace

std::optional<DemoTruth> read_demo_truth(const std::filesystem::path& case_folder) {
  const std::filesystem::path file = case_folder / "truth.json";
  std::error_code problem;
  if (!std::filesystem::exists(file, problem)) return std::nullopt;
  try {
    DemoTruth truth = truth_in(nlohmann::json::parse(read_text_file(file, kLargestFile)));
    if (!truth.component.empty()) return truth;
  } catch (const nlohmann::json::exception&) {  // told below, with what to do
  }
  throw Error(Fault::file, file.string(), "does not say what is at fault",
              "make the demo case anew: howlpoint demo FOLDER");
}

}  // namespace howl
