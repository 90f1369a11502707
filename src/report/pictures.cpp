#include "src/report/pictures.h"

#include "src/report/canvas.h"
#include "src/report/picture_file.h"
#include "src/report/plots.h"

namespace howl {
namespace {

template <class Picture>
std::string rendered(const Picture& picture, PictureFormat format,
                     double pixels_per_unit = picture::kPngScale) {
  picture::Canvas canvas(format, picture::page_size(picture), picture.title, pixels_per_unit);
  picture::draw_on(canvas, picture);
  return canvas.finish();
}

template <class Picture>
void draw_to(const Picture& picture, const std::filesystem::path& file) {
  const PictureFormat format = picture::format_of(file);
  picture::write_whole(file, rendered(picture, format));
}

}  // namespace

std::string render(const MapPicture& picture, PictureFormat format) {
  return rendered(picture, format);
}
std::string render(const SpectrumPicture& picture, PictureFormat format) {
  return rendered(picture, format);
}
std::string render(const PitchPicture& picture, PictureFormat format) {
  return rendered(picture, format);
}
std::string render(const RankingPicture& picture, PictureFormat format) {
  return rendered(picture, format);
}
std::string render(const SketchPicture& picture, PictureFormat format) {
  return rendered(picture, format);
}
std::string render(const SuspectsPicture& picture, PictureFormat format) {
  return rendered(picture, format);
}
std::string render(const AnyPicture& picture, PictureFormat format, double pixels_per_unit) {
  return std::visit([&](const auto& it) { return rendered(it, format, pixels_per_unit); }, picture);
}

void draw(const MapPicture& picture, const std::filesystem::path& file) { draw_to(picture, file); }
void draw(const SpectrumPicture& picture, const std::filesystem::path& file) {
  draw_to(picture, file);
}
void draw(const PitchPicture& picture, const std::filesystem::path& file) {
  draw_to(picture, file);
}
void draw(const RankingPicture& picture, const std::filesystem::path& file) {
  draw_to(picture, file);
}
void draw(const SketchPicture& picture, const std::filesystem::path& file) {
  draw_to(picture, file);
}
void draw(const SuspectsPicture& picture, const std::filesystem::path& file) {
  draw_to(picture, file);
}
void draw(const AnyPicture& picture, const std::filesystem::path& file) {
  std::visit([&](const auto& it) { draw_to(it, file); }, picture);
}

}  // namespace howl
