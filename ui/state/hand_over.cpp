#include "ui/state/hand_over.h"

#include <fmt/format.h>

#include <array>
#include <string>
#include <system_error>

namespace howl::desk {
namespace {

struct Named {
  std::string_view name;
  std::string_view stem;
  std::string_view ending;
};

const Named& named(HandOver what) {
  static constexpr std::array<Named, 4> all{{{"PDF report", "-report", ".pdf"},
                                             {"HTML report", "-report", ".html"},
                                             {"Tables and pictures", "-tables", ""},
                                             {"Packed case", "-packed", ".zip"}}};
  return all.at(static_cast<std::size_t>(what));
}

}  // namespace

std::string_view hand_over_name(HandOver what) { return named(what).name; }

std::filesystem::path free_place(const std::filesystem::path& folder, std::string_view stem,
                                 std::string_view ending) {
  const std::filesystem::path case_folder =
      folder.has_filename() ? folder : folder.parent_path();  // of "whine/"
  const auto place = [&](const std::string& number) {
    return case_folder.parent_path() /
           fmt::format("{}{}{}{}", case_folder.filename().string(), stem, number, ending);
  };
  std::filesystem::path free = place("");
  std::error_code ignored;
  for (int i = 2; std::filesystem::exists(free, ignored); ++i) free = place(fmt::format("-{}", i));
  return free;
}

std::filesystem::path free_place(const std::filesystem::path& folder, HandOver what) {
  return free_place(folder, named(what).stem, named(what).ending);
}

}  // namespace howl::desk
