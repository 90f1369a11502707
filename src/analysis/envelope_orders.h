#pragma once

#include <optional>
#include <vector>

#include "dsp/spectral_kurtosis.h"
#include "dsp/spectrum.h"
#include "src/analysis/engine_grid.h"
#include "src/analysis/take_audio.h"

namespace howl {

/// How the power of one band of a take swings with the crankshaft's angle.
struct EnvelopeOrders {
  ImpulsiveBand band;
  /// Order spectrum of the band's power; every block counts the same, however loud it is.
  PowerSpectrum shape;
  std::vector<double> floor;  ///< of `shape`: its noise_floor() over 3 orders
  /// The same spectrum of power over its own mean in the block: a line of mean square a²/2 is a
  /// swing of the power by ±a of its mean.
  std::vector<double> swing;
  /// What the tones in the band make of `shape` by beating with each other and with whatever else
  /// is there (BlockTones), at most, the floor's share taken off; same scale and lines.
  std::vector<double> beats;
  double highest_order{};  ///< up to where the band is wide enough for the fastest speed
};

struct TakeEnvelopes {
  std::optional<EngineGrid> grid;  ///< none where the take is too short
  std::vector<EnvelopeOrders> bands;
};

/// Looks into the bands that spectral kurtosis among like crank angles chooses, where the engine's
/// own bursts do not count, and into bands side by side over the whole spectrum; takes the envelope
/// order spectrum of each (squared envelope: Randall and Antoni 2011, MSSP 25, 485–520), and what
/// tones make of it. Streams the take three times; bounded memory. No bands where nothing comes in
/// bursts or where the take is shorter than 64 revolutions; blocks that reach into what is
/// left out of it are not averaged.
TakeEnvelopes take_envelopes(const TakeAudio& take);

}  // namespace howl
