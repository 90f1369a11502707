#pragma once

#include <cstddef>
#include <optional>
#include <span>
#include <string>
#include <string_view>

#include "src/analysis/analysis.h"
#include "src/report/pictures.h"
#include "ui/look/frame.h"

namespace howl::desk {

/// Pieces that several views show.

/// The vehicle with its probe points; `rest` are views to choose from at its side.
void put_sketch(Frame& frame, const Area& area, const SketchPicture& sketch);
/// The sketch with levels, or without any where nothing was ranked: then that of what was recorded.
bool is_sketched(const Frame& frame);  ///< whether it has levels
const SketchPicture& sketch_to_show(const Frame& frame);
/// The tones, strongest first, to be picked.
void put_tones(Frame& frame, const Area& area);
/// The takes with all that is known of them, or large enough for a gloved hand to pick one; with
/// Ctrl its spectrum is laid over.
void put_takes(Frame& frame, const Area& area);
void put_takes_to_pick(Frame& frame, const Area& area);
/// A sentence of the answer, large; returns the height used.
float put_finding(Frame& frame, const Area& area, std::string_view text);
float finding_height(const Frame& frame, float width, std::string_view text);

/// The colour that a tone has wherever it is shown.
ImU32 tone_colour(const Frame& frame, const std::string& id);
bool is_lit_tone(const Frame& frame, const std::string& id);
bool is_lit_take(const Frame& frame, const std::string& id);
bool is_lit_point(const Frame& frame, const std::string& name);

/// "1 500 rpm", "800 … 3 000 rpm", "engine off"
std::string speed_words(const TakeResult& take);
std::string minutes_words(double minutes);       ///< of a test: "1 min", "3 min"
std::string tone_words(const ToneResult& tone);  ///< "order 11.00", "7 367 … 7 423 Hz"

/// Where there is no room for all parts of the step at once: a switch between them at the top of
/// `rest`, whose names say what is hidden. Returns the part that is to be drawn.
std::size_t put_parts_in_turn(Frame& frame, Area& rest, std::span<const std::string_view> names);

/// The same sentence where it is a part of its own.
void put_in_words(Frame& frame, const Area& area, std::string_view text);

/// Why there is no answer to show; draws it. True if there is one and the panel may go on.
bool has_answer(Frame& frame, const Area& area);

}  // namespace howl::desk
