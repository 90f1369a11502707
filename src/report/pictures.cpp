#include "src/report/pictures.h"

#include "src/report/canvas.h"
#include "src/report/picture_file.h"
#include "src/report/plots.h"

namespace howl {
namespace {

template <class Picture>
std::string rendered(const Picture& picture, PictureFormat format) {
  picture::Canvas canvas(format, picture::page_size(picture), picture.title);
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

}  // namespace howl
