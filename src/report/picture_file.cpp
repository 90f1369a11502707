#include "src/report/picture_file.h"

#include <cerrno>
#include <fstream>
#include <ios>
#include <string>
#include <system_error>

#include "src/errors.h"
#include "src/files/part_file.h"
#include "src/lower_case.h"

namespace howl::picture {
namespace {

std::string shown(const std::filesystem::path& file) {
  const std::u8string name = file.u8string();
  return {name.begin(), name.end()};
}

bool write_bytes(const std::filesystem::path& file, std::string_view bytes) {
  std::ofstream out(file, std::ios::binary);
  out.write(bytes.data(), static_cast<std::streamsize>(bytes.size()));
  out.close();
  return out.good();
}

std::error_code last_error() {
  return errno == 0 ? std::make_error_code(std::errc::io_error)
                    : std::error_code(errno, std::generic_category());
}

}  // namespace

PictureFormat format_of(const std::filesystem::path& file) {
  const std::string ending = lower_case(shown(file.extension()));
  if (ending == ".png") return PictureFormat::png;
  if (ending == ".svg") return PictureFormat::svg;
  if (ending == ".pdf") return PictureFormat::pdf;
  throw Error(Fault::command, shown(file), "the ending does not name a kind of picture",
              "end the name in .png, .svg or .pdf");
}

void write_whole(const std::filesystem::path& file, std::string_view bytes) {
  PartFile part(file);
  errno = 0;
  if (!write_bytes(part.path(), bytes)) throw part.not_written(last_error());
  part.keep();
}

}  // namespace howl::picture
