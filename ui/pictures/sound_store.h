#pragma once

#include <filesystem>
#include <map>
#include <memory>
#include <optional>
#include <set>
#include <string>
#include <vector>

#include "src/case/case.h"
#include "ui/jobs/jobs.h"
#include "ui/pictures/section.h"
#include "ui/pictures/take_sound.h"
#include "ui/pictures/tiles.h"

namespace howl::desk {

/// The sounds that are looked at, read by jobs. Keeps those used last.
class SoundStore {
 public:
  /// Null while it is not read yet.
  std::shared_ptr<const TakeSound> find(const std::string& take) const;
  /// Why a take cannot be shown; empty where nothing is wrong.
  std::string fault_of(const std::string& take) const;

  /// Begins to read a take, unless it is there or on its way.
  void want(Jobs& jobs, const std::filesystem::path& folder, const Take& take,
            std::optional<int> cylinders);
  /// Begins to paint the tiles that were asked for by drawing.
  void paint_wanted(Jobs& jobs);
  /// Also what is on its way.
  void forget_all(Jobs& jobs);

  /// What a stretch of a take's map comes to. Kept, so that frames that show the same do not sum it
  /// up again. Valid until the case is closed or some ten others were asked for.
  std::shared_ptr<const PowerSpectrum> section(const TakeSound& sound, bool orders,
                                               const Interval& time) const;

  /// Drawing asks it for tiles, which is why it may change while all else is only read.
  TileCache& tiles() const { return *tiles_; }
  bool told_to_forget_tiles() const { return forget_tiles_; }
  void tiles_forgotten() { forget_tiles_ = false; }

 private:
  struct Entry {
    std::shared_ptr<const TakeSound> sound;
    std::string fault;
    std::uint64_t wanted{};
  };
  struct Section {
    std::string take;
    bool orders{};
    SectionColumns columns;
    std::shared_ptr<const PowerSpectrum> spectrum;
  };

  void keep(JobId job);
  void add_orders(Jobs& jobs, const std::string& id);
  void make_room();

  std::map<std::string, Entry> entries_;
  mutable std::vector<Section> sections_;  ///< asked for by drawing, as tiles are
  std::unique_ptr<TileCache> tiles_ = std::make_unique<TileCache>();
  std::vector<JobId> started_;  ///< for this case; those that ended too
  std::uint64_t clock_{};
  std::uint64_t generation_{};  ///< of the case: what an older one's jobs bring is thrown away
  bool forget_tiles_{};
};

}  // namespace howl::desk
