#include <array>
#include <string>

#include "src/document/sections.h"

namespace howl::document {
namespace {

struct Step {
  const char* name;
  const char* text;
};

/// In the words of the headers that do it; each source as named there.
constexpr std::array<Step, 11> method_steps{{
    {"Recording",
     "A contact microphone touches one probe point after another, at noted engine speed and load. "
     "Recordings are kept byte for byte; their SHA-256 is noted when they are added. Levels are in "
     "dB re full-scale sine (AES17): only differences between takes with the same microphone, gain "
     "and load mean something."},
    {"Quality",
     "Each take is searched for clipping, lost samples, lost or loose contact, knocks, hum and "
     "rumble. What is spoilt is left out of levels and spectra, and said in a warning."},
    {"Engine speed",
     "As written down, logged or from a tacho. All half orders of the engine vote for a speed by "
     "the sound alone (after Leclère, André and Antoni 2016, MSSP); where the two "
     "differ by more than 1.5 %, a warning says so."},
    {"Spectra and orders",
     "Averaged spectra (Welch 1967) for steady takes; for changing speed also samples at equal "
     "steps of crankshaft angle (Fyfe and Munck 1997, MSSP 11, 187-205), so that what turns with "
     "the engine stays a sharp line. An order is the number of cycles a turn of the crankshaft: 60 "
     "times the frequency in Hz over the speed in rpm."},
    {"Tones",
     "A line is a tone if it stands out of the noise in its critical band; it is prominent by the "
     "tone-to-noise criterion of ECMA-418-1:2024, without its listening check. Tones that belong "
     "together (multiples, sidebands) form a family, if tones without relation would do so in "
     "fewer than 1 % of cases."},
    {"Pitch behaviour",
     "Laws compete for each tone: fixed pitch, constant order, order with the slip of a belt, "
     "constant cycles a metre of road, and any other. Their weights are posterior probabilities "
     "(Kass and Raftery 1995, JASA 90, 773-795); measuring errors and those of the speed are in "
     "them. A behaviour is told only where it clearly beats all others; else it is undetermined."},
    {"Blows",
     "Bands whose sound comes in bursts are found by spectral kurtosis (Antoni and Randall 2006, "
     "MSSP 20, 308-331); how often they swell, by the spectrum of their envelope. What falls on a "
     "half order of the engine is put down to the engine."},
    {"Ranking",
     "The level of each probe point in the suspect band, repeats averaged as energy, a background "
     "taken off where there is one. Intervals by a block bootstrap within takes and the spread of "
     "repeats between them, which holds for all pairs of points at once (Efron and Tibshirani "
     "1993; Hsu 1996)."},
    {"Suspects",
     "The layout of the vehicle says which parts can howl, at which orders, where they are heard "
     "and how they react to loads. Bayes's rule weighs what was found against it. The weight of "
     "each piece of evidence is 10 lg of the likelihood ratio (Good 1950)."},
    {"Next test and repair",
     "The test that promises most information a minute (Lindley 1956; de Kleer and Williams 1987, "
     "Artificial Intelligence 32, 97-130); repairs in falling chance per cost (Heckerman, Breese "
     "and Rommelse 1995, CACM 38(3), 49-57)."},
    {"Before and after",
     "Takes are paired by point, speed and load. A change counts as it was measured and relative "
     "to "
     "the rest of the spectrum, which the pressure of the hand does not move; 'surely' is 95 %, "
     "paid for the number of tones compared (Bonferroni)."},
}};

constexpr std::array<const char*, 9> limits{{
    "A finding is a reason to inspect a part, not proof against it. The probabilities hold as far "
    "as the layout and its numbers fit the vehicle; 'something not in this profile' stands for the "
    "rest.",
    "The loudest probe point is where the sound enters what was touched. A bracket that resonates "
    "can be louder than the part that drives it.",
    "The program does not know which howl a person hears. Sound parts whine too.",
    "One steady speed can never show that a pitch follows the engine.",
    "Levels are not calibrated: they compare probe points with each other, and say nothing of "
    "loudness in the vehicle or of limits for noise.",
    "A hand-held probe has resonances of its own above about 2 kHz, differs by some 2 dB from one "
    "setting to the next, and hears nothing of what stays in the air.",
    "How often parts are at fault, and what workshop facts weigh, is common practice and shop "
    "experience as the files of the program state it, not a count of this kind of vehicle.",
    "A constant order tells what turns with the engine at that ratio; two parts of one ratio "
    "cannot "
    "be told apart by pitch alone.",
    "Speed, load, probe point, vehicle and names are as somebody entered them. The check of speed "
    "against the sound is the only one that the recordings allow.",
}};

}  // namespace

Section method_section() {
  Section section{
      .id = "method", .title = "Method, with its sources", .blocks = {}, .own_page = true};
  Facts facts;
  for (const Step& step : method_steps) facts.items.emplace_back(step.name, step.text);
  section.blocks.emplace_back(std::move(facts));
  return section;
}

Section limits_section() {
  Section section{.id = "limits", .title = "Limits of the method", .blocks = {}};
  section.blocks.emplace_back(Bullets{{limits.begin(), limits.end()}});
  return section;
}

}  // namespace howl::document
