#pragma once

#include <cstddef>
#include <span>

#include "ui/look/frame.h"

namespace howl::desk {

/// Places things of given widths in rows from left to right, as words are in a paragraph.
class Flow {
 public:
  static constexpr float kSpace = 8;  ///< between things and rows, in layout units

  Flow(const Frame& frame, const Area& area, float row_height)
      : frame_(&frame), area_(area), height_(row_height), x_(area.x), y_(area.y) {}

  /// `width` in layout units, no more than there is.
  Area next(float width) { return next_pixels(frame_->u(width)); }
  Area next_pixels(float wanted) {
    const float wide = std::min(wanted, area_.w);
    if (x_ > area_.x && x_ + wide > area_.right() + 0.5F) {
      x_ = area_.x;
      y_ += height_ + frame_->u(kSpace);
    }
    const Area place{x_, y_, wide, height_};
    x_ += wide + frame_->u(kSpace);
    return place;
  }
  float bottom() const { return y_ + height_; }

  /// How many rows these take.
  static std::size_t rows(const Frame& frame, float width, std::span<const float> widths) {
    Flow flow(frame, {0, 0, width, 0}, 1);
    for (const float each : widths) flow.next(each);
    return static_cast<std::size_t>(1.5F + flow.y_ / (1 + frame.u(kSpace)));
  }

 private:
  const Frame* frame_;
  Area area_;
  float height_;
  float x_;
  float y_;
};

}  // namespace howl::desk
