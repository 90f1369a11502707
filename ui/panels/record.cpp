#include <array>

#include "ui/look/widgets.h"
#include "ui/panels/panels.h"
#include "ui/panels/record_panels.h"
#include "ui/state/desk.h"

namespace howl::desk {

void draw_record(Frame& frame, const Area& area) {
  const RecordState& record = frame.state.record;
  if (record.running) return put_recording(frame, area, *record.running);
  Area rest = area;
  constexpr std::array<std::string_view, 2> sides{"Record", "Takes so far"};
  Area head = rest.take_top(frame.u(kTouch), frame.u(8));
  if (const auto chosen = choice(frame, "record.side", head.take_left(frame.u(280)), sides,
                                 record.takes_shown ? 1 : 0))
    frame.wish(ShowTakes{*chosen == 1});
  head.take_left(frame.u(12));
  if (!record.takes_shown) put_microphone(frame, head.take_right(std::min(head.w, frame.u(460))));
  const bool good = record.ended_fault.empty();
  if (good && head.w > frame.u(180))
    put_line(frame.look.fonts.body, head, frame.theme().good, record.ended);
  else if (!record.ended.empty())
    put_line(frame.look.fonts.body, rest.take_top(frame.u(22), frame.u(6)),
             good ? frame.theme().good : frame.theme().bad,
             good ? record.ended : record.ended_fault);
  record.takes_shown ? put_recorded_takes(frame, rest) : put_record_plan(frame, rest);
  if (record.pad_shown && !record.takes_shown) put_number_pad(frame, area);
}

}  // namespace howl::desk
