#include "ui/pictures/sound_store.h"

#include <algorithm>
#include <utility>

#include "ui/look/theme.h"

namespace howl::desk {
namespace {

constexpr std::size_t kMostSounds = 12;

const std::array<ImU32, 256>& colours_for(bool dark) {
  static const std::array<Theme, 2> themes{theme_of(false, false), theme_of(true, false)};
  return themes.at(dark ? 1 : 0).levels;
}

}  // namespace

std::shared_ptr<const TakeSound> SoundStore::find(const std::string& take) const {
  const auto found = entries_.find(take);
  return found == entries_.end() ? nullptr : found->second.sound;
}

std::string SoundStore::fault_of(const std::string& take) const {
  const auto found = entries_.find(take);
  return found == entries_.end() ? std::string{} : found->second.fault;
}

void SoundStore::want(Jobs& jobs, const std::filesystem::path& folder, const Take& take,
                      std::optional<int> cylinders) {
  const auto [entry, is_new] = entries_.try_emplace(take.id);
  entry->second.wanted = ++clock_;
  if (!is_new) return;
  make_room();
  const auto generation = generation_;
  Jobs* const all = &jobs;
  const auto still_ours = [this, generation, id = take.id] {
    return generation == generation_ && entries_.contains(id);
  };
  keep(jobs.start(
      Jobs::Lane::pictures, "Reading " + take.id,
      [=, this](JobContext& context) -> Jobs::Done {
        auto sound = std::make_shared<const TakeSound>(read_take_sound(
            folder, take, cylinders,
            [&](double fraction, std::string_view stage) { context.report(fraction, stage); }));
        return [=, this, id = take.id] {
          if (!still_ours()) return;
          entries_.at(id).sound = sound;
          add_orders(*all, id);
        };
      },
      [this, still_ours, id = take.id](const std::exception& problem) {
        if (still_ours()) entries_.at(id).fault = problem.what();
      }));
}

/// Orders come later, so that the rest is seen soon.
void SoundStore::add_orders(Jobs& jobs, const std::string& id) {
  const auto sound = entries_.at(id).sound;
  const auto generation = generation_;
  keep(jobs.start(
      Jobs::Lane::pictures, "Following the orders of " + id,
      [=, this](JobContext& context) -> Jobs::Done {
        auto whole = std::make_shared<const TakeSound>(with_orders(
            *sound,
            [&](double fraction, std::string_view stage) { context.report(fraction, stage); }));
        return [=, this] {
          const auto entry = entries_.find(id);
          if (generation == generation_ && entry != entries_.end() && entry->second.sound == sound)
            entry->second.sound = whole;
        };
      },
      {}));
}

void SoundStore::make_room() {
  while (entries_.size() > kMostSounds) {
    const auto oldest = std::ranges::min_element(
        entries_, {}, [](const auto& entry) { return entry.second.wanted; });
    entries_.erase(oldest);
  }
}

void SoundStore::paint_wanted(Jobs& jobs) {
  for (const TileKey& key : tiles_->take_wanted()) {
    const auto sound = find(key.take);
    if (!sound) {
      tiles_->failed(key);
      continue;
    }
    const auto generation = generation_;
    keep(jobs.start(
        Jobs::Lane::pictures, "Painting",
        [=, this](JobContext& context) -> Jobs::Done {
          context.throw_if_cancelled();
          auto pixels = std::make_shared<TilePixels>(paint_tile(
              *sound, key, colours_for(key.dark),
              [&](double fraction, std::string_view stage) { context.report(fraction, stage); }));
          return [this, generation, key, pixels] {
            if (generation == generation_) tiles_->arrived(key, std::move(*pixels));
          };
        },
        [this, key](const std::exception&) { tiles_->failed(key); }));
  }
}

void SoundStore::keep(JobId job) {
  constexpr std::size_t most = 4000;  // more than wait at a time
  if (started_.size() > most) started_.erase(started_.begin(), started_.begin() + most / 2);
  started_.push_back(job);
}

void SoundStore::forget_all(Jobs& jobs) {
  for (const JobId job : started_) jobs.cancel(job);
  started_.clear();
  ++generation_;
  entries_.clear();
  sections_.clear();
  forget_tiles_ = true;
}

std::shared_ptr<const PowerSpectrum> SoundStore::section(const TakeSound& sound, bool orders,
                                                         const Interval& time) const {
  constexpr std::size_t most = 10;
  const LevelPyramid& map = orders ? *sound.orders : sound.spectrogram;
  const SectionColumns columns = section_columns(map, time);
  for (const Section& kept : sections_)
    if (kept.take == sound.id && kept.orders == orders && kept.columns == columns)
      return kept.spectrum;
  if (sections_.size() == most) sections_.erase(sections_.begin());
  sections_.push_back({sound.id, orders, columns,
                       std::make_shared<const PowerSpectrum>(section_spectrum(map, columns))});
  return sections_.back().spectrum;
}

}  // namespace howl::desk
