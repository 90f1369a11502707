#pragma once

#include <string>

#include "ui/look/frame.h"

namespace howl::desk {

/// The whole window: rail of steps, the chosen step's view, and what to do next.
void draw_desk(Frame& frame, const Area& window);

// Its parts, one file each. All read the state and say wishes; none computes a finding.
void draw_rail(Frame& frame, const Area& area);
void draw_head(Frame& frame, const Area& area);
void draw_next_bar(Frame& frame, const Area& area);
// What lies over the view, where there is something to be shown: the next test in full with its
// cautions, what somebody fills in, what went wrong, the list of keys.
void draw_next_details(Frame& frame, const Area& view);
void draw_sheet(Frame& frame, const Area& window, const Area& view);
void put_notices(Frame& frame, Area& view);  ///< what they take is lost to it
void draw_keys(Frame& frame, const Area& window);
void draw_quiz(Frame& frame, const Area& area);  ///< between its cases, and after the last
void draw_welcome(Frame& frame, const Area& area);

/// The whole window before a class: one step large, what to see in it, the answer hidden or shown.
void draw_class(Frame& frame, const Area& window);

struct Quiz;
std::string quiz_words(const Quiz& quiz);  ///< how far it is, and who was right how often

// The views of the steps.
void draw_step(Frame& frame, const Area& area);  ///< of the chosen one
void draw_complaint(Frame& frame, const Area& area);
void draw_points(Frame& frame, const Area& area);
void draw_record(Frame& frame, const Area& area);
void draw_listen(Frame& frame, const Area& area);
void draw_pitch(Frame& frame, const Area& area);
void draw_where(Frame& frame, const Area& area);
void draw_what(Frame& frame, const Area& area);
void draw_proof(Frame& frame, const Area& area);
void draw_report(Frame& frame, const Area& area);

// What a class sees of a step while the answer is hidden, where that is another view.
void draw_complaint_unanswered(Frame& frame, const Area& area);
void draw_where_unanswered(Frame& frame, const Area& area);
void draw_pitch_unanswered(Frame& frame, const Area& area);
void draw_what_unanswered(Frame& frame, const Area& area);
void draw_proof_unanswered(Frame& frame, const Area& area);
void draw_report_unanswered(Frame& frame, const Area& area);

}  // namespace howl::desk
