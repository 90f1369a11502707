#include "ui/panels/panels.h"
#include "ui/state/desk.h"

namespace howl::desk {
void draw_step(Frame& frame, const Area& area) {
  switch (frame.state.view.step) {
    case Step::complaint:
      return draw_complaint(frame, area);
    case Step::points:
      return draw_points(frame, area);
    case Step::record:
      return draw_record(frame, area);
    case Step::listen:
      return draw_listen(frame, area);
    case Step::pitch:
      return draw_pitch(frame, area);
    case Step::where:
      return draw_where(frame, area);
    case Step::what:
      return draw_what(frame, area);
    case Step::proof:
      return draw_proof(frame, area);
    case Step::report:
      return draw_report(frame, area);
  }
}

void draw_desk(Frame& frame, const Area& window) {
  if (frame.state.settings.class_mode && frame.state.opened) return draw_class(frame, window);
  Area rest = window;
  draw_rail(frame, rest.take_left(frame.u(208)));
  rest = rest.inset(frame.u(kPad), 0);
  draw_next_bar(frame, rest.take_bottom(frame.u(96)).inset(0, frame.u(8)));
  draw_head(frame, rest.take_top(frame.u(60)));
  put_notices(frame, rest);
  if (frame.state.opened == nullptr)
    frame.state.quiz ? draw_quiz(frame, rest) : draw_welcome(frame, rest);
  else
    draw_step(frame, rest);
  draw_next_details(frame, rest);
  draw_sheet(frame, window, rest);
  draw_keys(frame, window);
}

}  // namespace howl::desk
