#include "ui/platform/save_picture.h"

#include "src/files/durable_file.h"
#include "src/report/canvas.h"

namespace howl::desk {

void save_picture(const WindowPixels& pixels, const std::filesystem::path& file) {
  // A page's unit is two pixels, so the page is half as large as the picture.
  const picture::Size page{0.5 * pixels.width, 0.5 * pixels.height};
  picture::Canvas canvas(PictureFormat::png, page, "Howlpoint");
  canvas.image({0, 0, page.width, page.height},
               {static_cast<std::size_t>(pixels.width), static_cast<std::size_t>(pixels.height),
                pixels.pixels});
  replace_file(file, canvas.finish());
}

}  // namespace howl::desk
