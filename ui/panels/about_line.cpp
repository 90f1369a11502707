#include "ui/panels/about_line.h"

#include "ui/look/widgets.h"
#include "ui/state/about_tone.h"
#include "ui/state/desk.h"

namespace howl::desk {

void put_about_line(Frame& frame, Area& rest) {
  const std::string words = about_words(frame.state);
  if (words.empty() || is_answer_hidden(frame.state)) return;
  const ToneResult& about = *tone_in_question(frame.state);
  Area line = rest.take_top(frame.u(kTouch), frame.u(8));
  const std::string label = "Pick " + about.id;
  const ButtonWords back{.label = label};
  if (button(frame, "about.pick", line.take_right(button_width(frame, back), frame.u(12)), back))
    frame.wish(PickTone{about.id});
  line.take_left(frame.u(4));
  put_line(frame.look.fonts.body, line, frame.theme().ink, words);
}

}  // namespace howl::desk
