#include "dsp/tone_families.h"

#include <algorithm>
#include <cmath>
#include <numeric>
#include <utility>

#include "dsp/coincidences.h"
#include "dsp/family_fit.h"

namespace howl {

namespace {

constexpr double kDensityReach = 0.35;  // ln of the position, on either side
constexpr double kUnseenLines = 0.5;    // added to a count: Jeffreys's prior for a Poisson rate
constexpr std::size_t kNeighbours = 12;
constexpr double kJoinChance = 0.05;  // a line beyond the tested harmonics joins a sure family
constexpr double kAskewDb = 6.0;      // between sidebands of a pair; more where one is a stranger
constexpr double kGridSigmas = 5.0;   // a line on the grid must not pass for one beside it
constexpr double kOverlap = 0.004;    // ln: slots this near to each other are one
constexpr std::size_t kLookAhead = 4;
constexpr std::size_t kNone = static_cast<std::size_t>(-1);

/// Share of the `rank`-th (from 1) of `count` hypotheses; shares add up to 1.
double share(std::size_t rank, std::size_t count) {
  double sum = 0.0;
  for (std::size_t i = 1; i <= count; ++i) sum += 1.0 / static_cast<double>(i);
  return 1.0 / (static_cast<double>(rank) * sum);
}

/// Where a hypothesis says that a line must be, as multiples of the anchor's position.
struct Slot {
  double ratio;
  double sigma;  ///< of the ratio
  double reach;  ///< lines are counted within it too: of the ratio, on either side
  int multiple;
  int sideband;
};

struct FilledSlot {
  double chance;  ///< that an unrelated line fills it
  std::size_t line{kNone};
};

bool contains(const std::vector<std::size_t>& lines, std::size_t line) {
  return std::find(lines.begin(), lines.end(), line) != lines.end();
}

struct Hypothesis {
  std::size_t anchor{kNone};
  double bound{1e300};
  std::vector<FamilyMember> members;  ///< without the carriers of an accepted family
  std::size_t family{kNone};          ///< that one
  double spacing_ratio{};             ///< of the anchor's position
  double part{};                      ///< share of the hypotheses, as carriers of sidebands
  std::vector<double> chances;        ///< of the slots in their range
};

class FamilyFinder {
 public:
  FamilyFinder(std::span<const FamilyLine> lines, const FamilyParameters& parameters)
      : lines_(lines), p_(parameters), explained_(lines.size(), false), by_level_(lines.size()) {
    std::iota(by_level_.begin(), by_level_.end(), std::size_t{0});
    std::stable_sort(by_level_.begin(), by_level_.end(), [&](std::size_t a, std::size_t b) {
      return lines[a].level_db > lines[b].level_db;
    });
    relations_.reserve(lines.size() * lines.size());
    for (const FamilyLine& a : lines)
      for (const FamilyLine& b : lines) relations_.push_back(relate(a, b));
    for (std::size_t a = 0; a < lines.size(); ++a) {
      std::vector<double> sigmas;
      for (std::size_t b = 0; b < lines.size(); ++b)
        if (b != a) sigmas.push_back(relation(a, b).sigma);
      typical_sigma_.push_back(median(sigmas));
    }
    for (const FamilyLine& line : lines) {
      log_positions_.push_back(std::log(line.position));
      on_grid_.push_back(lies_on_grid(line.position, kGridSigmas * line.sigma));
    }
    extent_ = {*std::min_element(log_positions_.begin(), log_positions_.end()),
               *std::max_element(log_positions_.begin(), log_positions_.end())};
  }

  std::vector<LineFamily> run() {
    for (;;) {
      std::vector<Hypothesis> open = acceptable();
      if (open.empty()) break;
      accept(open.size() == 1 ? open.front() : leading_to_least(open));
    }
    for (LineFamily& family : families_) describe_family(family, lines_);
    return std::move(families_);
  }

 private:
  // ---- which family first ----------------------------------------------------------------------

  /// The few best hypotheses that chance does not explain, least bound first.
  std::vector<Hypothesis> acceptable() const {
    std::vector<Hypothesis> all = harmonics();
    all.push_back(best_sidebands());
    std::erase_if(all, [&](const Hypothesis& h) { return h.bound > p_.false_alarm; });
    std::stable_sort(all.begin(), all.end(),
                     [](const Hypothesis& a, const Hypothesis& b) { return a.bound < b.bound; });
    std::vector<Hypothesis> few;
    for (Hypothesis& h : all)
      if (few.size() < kLookAhead && std::none_of(few.begin(), few.end(), [&](const Hypothesis& f) {
            return same_lines(f, h);
          }))
        few.push_back(std::move(h));
    return few;
  }

  /// The hypothesis after which the best of what remains, taken one by one, saves most.
  Hypothesis leading_to_least(const std::vector<Hypothesis>& open) {
    const std::vector<bool> explained = explained_;
    const std::vector<LineFamily> families = families_;
    const Hypothesis* best = nullptr;
    double least = 1e300;
    for (const Hypothesis& first : open) {
      double total = std::log(first.bound);
      accept(first);
      for (auto next = acceptable(); !next.empty(); next = acceptable()) {
        total += std::log(next.front().bound);
        accept(next.front());
      }
      if (total < least) {
        least = total;
        best = &first;
      }
      explained_ = explained;
      families_ = families;
    }
    return *best;
  }

  static bool same_lines(const Hypothesis& a, const Hypothesis& b) {
    const auto lines = [](const Hypothesis& h) {
      std::vector<std::size_t> all;
      for (const FamilyMember& m : h.members) all.push_back(m.line);
      std::sort(all.begin(), all.end());
      return all;
    };
    return a.family == b.family && lines(a) == lines(b);
  }

  void accept(const Hypothesis& h) {
    h.spacing_ratio > 0.0 ? accept_sidebands(h) : accept_harmonics(h);
  }

  // ---- what chance does ------------------------------------------------------------------------

  bool lies_on_grid(double position, double tolerance) const {
    if (!p_.grid) return false;
    return std::abs(position - *p_.grid * std::round(position / *p_.grid)) <= tolerance;
  }

  const LineRelation& relation(std::size_t from, std::size_t to) const {
    return relations_[from * lines_.size() + to];
  }

  /// Width of the slot for a line, in ln of the position.
  double window(std::size_t anchor, std::size_t line, const Slot& slot, bool slot_on_grid) const {
    const double own = relation(anchor, line).sigma;
    const double of_slot = slot.sigma / slot.ratio;
    const double sigma = std::sqrt(own * own + of_slot * of_slot);
    const double width = 2.0 * p_.match_sigmas * sigma;
    if (!slot_on_grid || !on_grid_[line]) return width;
    return std::max(width, *p_.grid / (slot.ratio * lines_[anchor].position));
  }

  /// Expected number of unrelated lines in a slot, by the lines within `reach` (ln) of it other
  /// than the one found in it.
  double expected(std::size_t anchor, const Slot& slot, std::size_t found, bool slot_on_grid,
                  double reach) const {
    const double here = log_positions_[anchor] + std::log(slot.ratio);
    const double length =
        std::max(reach, std::min(here + reach, extent_.high) - std::max(here - reach, extent_.low));
    double unseen =
        2.0 * p_.match_sigmas * std::hypot(slot.sigma / slot.ratio, typical_sigma_[anchor]);
    if (slot_on_grid) unseen = std::max(unseen, *p_.grid / (slot.ratio * lines_[anchor].position));
    double sum = kUnseenLines * unseen;
    for (std::size_t l = 0; l < lines_.size(); ++l) {
      if (l == anchor || l == found || explained_[l]) continue;
      if (std::abs(log_positions_[l] - here) < reach) sum += window(anchor, l, slot, slot_on_grid);
    }
    return sum / length;
  }

  double chance(std::size_t anchor, const Slot& slot, std::size_t found) const {
    const double position = lines_[anchor].position * slot.ratio;
    const double sigma =
        lines_[anchor].sigma * std::max(1.0, slot.ratio) + lines_[anchor].position * slot.sigma;
    const bool grid = on_grid_[anchor] && lies_on_grid(position, kGridSigmas * sigma);
    double most = expected(anchor, slot, found, grid, kDensityReach);
    if (slot.reach > 0.0)
      most = std::max(most, expected(anchor, slot, found, grid, slot.reach / slot.ratio));
    return std::min(1.0, most);
  }

  /// The unexplained line nearest to the slot and inside it.
  std::size_t line_in(std::size_t anchor, const Slot& slot,
                      const std::vector<std::size_t>& taken) const {
    std::size_t best = kNone;
    double nearest = p_.match_sigmas;
    const double at = std::log(slot.ratio);
    const double slot_sigma = slot.sigma / slot.ratio;
    for (std::size_t l = 0; l < lines_.size(); ++l) {
      if (l == anchor || explained_[l] || contains(taken, l)) continue;
      const LineRelation& r = relation(anchor, l);
      const double sigma = std::sqrt(r.sigma * r.sigma + slot_sigma * slot_sigma);
      const double z = std::abs(r.log_ratio - at) / sigma;
      if (z <= nearest) {
        nearest = z;
        best = l;
      }
    }
    return best;
  }

  // ---- harmonics -------------------------------------------------------------------------------

  Slot harmonic_slot(std::size_t anchor, int anchor_multiple, int multiple) const {
    const double ratio = static_cast<double>(multiple) / anchor_multiple;
    return {ratio, 0.1 * ratio * lines_[anchor].sigma / lines_[anchor].position, 0.0, multiple, 0};
  }

  /// The best for each anchor.
  std::vector<Hypothesis> harmonics() const {
    std::vector<Hypothesis> all;
    for (std::size_t i = 0; i < by_level_.size(); ++i) {
      const std::size_t anchor = by_level_[i];
      if (explained_[anchor] || is_carrier(anchor)) continue;
      Hypothesis best;
      for (int k = 1; k <= p_.highest_missing + 1; ++k) {
        Hypothesis h =
            harmonics_of(anchor, k, share(i + 1, lines_.size()) / 3.0 * multiple_share(k));
        if (h.bound < best.bound) best = std::move(h);
      }
      all.push_back(std::move(best));
    }
    return all;
  }

  /// Share of the hypothesis that the anchor is harmonic k.
  double multiple_share(int k) const {
    return share(static_cast<std::size_t>(k), static_cast<std::size_t>(p_.highest_missing) + 1);
  }

  /// Of all ranges 1 … M of multiples the most striking one.
  Hypothesis harmonics_of(std::size_t anchor, int k, double part) const {
    const int least_range = std::max(k, 2);
    std::vector<Stage> stages(static_cast<std::size_t>(p_.highest_multiple - least_range + 1));
    std::vector<FamilyMember> members{{anchor, k, 0}};
    std::vector<std::size_t> taken;
    for (int m = 1; m <= p_.highest_multiple; ++m) {
      if (m == k) continue;
      Stage& stage = stages[static_cast<std::size_t>(std::max(0, m - least_range))];
      const Slot slot = harmonic_slot(anchor, k, m);
      const std::size_t line = line_in(anchor, slot, taken);
      stage.chances.push_back(chance(anchor, slot, line));
      if (line == kNone) continue;
      ++stage.hits;
      members.push_back({line, m, 0});
      taken.push_back(line);
    }
    const StageScan scan = scan_stages(stages);
    const int range = least_range + static_cast<int>(scan.stages) - 1;
    std::erase_if(members, [&](const FamilyMember& m) { return m.multiple > range; });
    if (members.size() < 2 || !lowest_terms(members)) return {};
    Hypothesis h{anchor, scan.chance / part, std::move(members), kNone, 0.0, 0.0, {}};
    h.part = part * share(scan.stages, stages.size());
    for (std::size_t s = 0; s < scan.stages; ++s)
      h.chances.insert(h.chances.end(), stages[s].chances.begin(), stages[s].chances.end());
    return h;
  }

  /// Multiples that share a factor belong to a higher base.
  static bool lowest_terms(const std::vector<FamilyMember>& members) {
    int common = 0;
    for (const FamilyMember& m : members) common = std::gcd(common, m.multiple);
    return common == 1;
  }

  void accept_harmonics(const Hypothesis& h) {
    LineFamily family;
    family.members = h.members;
    family.false_alarm = h.bound;
    int highest = 0;
    std::vector<std::size_t> taken;
    for (const FamilyMember& m : h.members) {
      highest = std::max(highest, m.multiple);
      taken.push_back(m.line);
    }
    const int k = h.members.front().multiple;
    for (int m = highest + 1; m <= p_.highest_multiple; ++m) {
      const Slot slot = harmonic_slot(h.anchor, k, m);
      const std::size_t line = line_in(h.anchor, slot, taken);
      if (line == kNone || chance(h.anchor, slot, line) > kJoinChance) continue;
      family.members.push_back({line, m, 0});
      taken.push_back(line);
    }
    for (const std::size_t line : taken) explained_[line] = true;
    families_.push_back(std::move(family));
  }

  // ---- sidebands -------------------------------------------------------------------------------

  bool is_carrier(std::size_t line) const {
    return std::any_of(families_.begin(), families_.end(), [&](const LineFamily& f) {
      return f.spacing && f.members.front().line == line;
    });
  }

  /// Lines that may all have sidebands at one spacing, the first one being the anchor.
  struct Carriers {
    std::vector<FamilyMember> lines;
    std::size_t family{kNone};    ///< an accepted one
    double part{};                ///< share of the hypotheses
    std::vector<double> chances;  ///< of the slots in which the carriers themselves were sought
  };

  std::vector<Carriers> carrier_sets() const {
    std::vector<Carriers> sets;
    for (std::size_t f = 0; f < families_.size(); ++f) {
      if (families_[f].spacing) continue;
      std::vector<FamilyMember> carriers = families_[f].members;
      std::stable_sort(carriers.begin(), carriers.end(),
                       [&](const FamilyMember& a, const FamilyMember& b) {
                         return lines_[a.line].level_db > lines_[b.line].level_db;
                       });
      for (std::size_t n = 1; n <= carriers.size(); ++n)
        sets.push_back({{carriers.begin(), carriers.begin() + static_cast<std::ptrdiff_t>(n)},
                        f,
                        share(f + 1, families_.size()) * share(n, carriers.size()),
                        {}});
    }
    for (std::size_t i = 0; i < by_level_.size(); ++i) {
      const std::size_t line = by_level_[i];
      if (explained_[line] || is_carrier(line)) continue;
      const double part = share(i + 1, lines_.size()) / 3.0;
      sets.push_back({{{line, 1, 0}}, kNone, part, {}});
      for (int k = 1; k <= p_.highest_missing + 1; ++k) {
        Hypothesis h = harmonics_of(line, k, part * multiple_share(k));
        if (!h.members.empty())
          sets.push_back({std::move(h.members), kNone, h.part, std::move(h.chances)});
      }
    }
    return sets;
  }

  Hypothesis best_sidebands() const {
    Hypothesis best;
    const double known = p_.spacings.empty() ? 0.0 : 0.5;
    const auto keep = [&](Hypothesis h) {
      if (h.bound < best.bound) best = std::move(h);
    };
    for (const Carriers& set : carrier_sets()) {
      const std::size_t anchor = set.lines.front().line;
      for (const double spacing : p_.spacings)
        keep(sidebands_of(set, spacing / lines_[anchor].position, 0.0, kNone,
                          known / static_cast<double>(p_.spacings.size())));
      const std::vector<std::size_t> near = neighbours(anchor);
      for (std::size_t r = 0; r < near.size(); ++r) {
        const LineRelation& to = relation(anchor, near[r]);
        const double ratio = std::exp(to.log_ratio);
        keep(sidebands_of(set, std::abs(ratio - 1.0), ratio * to.sigma, near[r],
                          (1.0 - known) * share(r + 1, kNeighbours)));
      }
    }
    return best;
  }

  std::vector<std::size_t> neighbours(std::size_t anchor) const {
    std::vector<std::size_t> near;
    for (std::size_t l = 0; l < lines_.size(); ++l)
      if (l != anchor && !explained_[l]) near.push_back(l);
    std::sort(near.begin(), near.end(), [&](std::size_t a, std::size_t b) {
      return std::abs(lines_[a].position - lines_[anchor].position) <
             std::abs(lines_[b].position - lines_[anchor].position);
    });
    if (near.size() > kNeighbours) near.resize(kNeighbours);
    return near;
  }

  /// Of all ranges ±1 … ±M of sidebands the most striking one; `seed` gave the spacing and proves
  /// nothing.
  Hypothesis sidebands_of(const Carriers& set, double spacing, double spacing_sigma,
                          std::size_t seed, double part) const {
    const std::size_t anchor = set.lines.front().line;
    std::vector<FamilyMember> members;
    std::vector<std::size_t> taken;
    std::vector<double> tried;
    for (const FamilyMember& carrier : set.lines) {
      taken.push_back(carrier.line);
      tried.push_back(std::exp(relation(anchor, carrier.line).log_ratio));
    }
    if (seed != kNone) {
      if (!may_be_sideband(seed, set) || contains(taken, seed)) return {};
      members.push_back({seed, set.lines.front().multiple,
                         lines_[seed].position > lines_[anchor].position ? 1 : -1});
      taken.push_back(seed);
    }
    std::vector<Stage> stages(static_cast<std::size_t>(p_.farthest_sideband));
    stages[0] = {set.chances, set.chances.empty() ? 0 : set.lines.size() - 1};
    for (int m = 1; m <= p_.farthest_sideband; ++m)
      for (const FamilyMember& carrier : set.lines)
        for (const int side : {-m, m}) {
          if (seed != kNone && carrier.line == anchor && side == members.front().sideband) continue;
          const Slot slot = sideband_slot(anchor, carrier, side, spacing, spacing_sigma);
          if (slot.ratio <= 0.0 || overlaps(slot, tried)) continue;
          tried.push_back(slot.ratio);
          std::size_t line = line_in(anchor, slot, taken);
          if (line != kNone && !may_be_sideband(line, set)) line = kNone;
          Stage& stage = stages[static_cast<std::size_t>(m - 1)];
          stage.chances.push_back(chance(anchor, slot, line));
          if (line == kNone) continue;
          ++stage.hits;
          members.push_back({line, carrier.multiple, side});
          taken.push_back(line);
        }
    const StageScan scan = scan_stages(stages);
    std::erase_if(members, [&](const FamilyMember& m) {
      return std::abs(m.sideband) > static_cast<int>(scan.stages);
    });
    if (members.empty()) return {};
    if (set.family == kNone) members.insert(members.begin(), set.lines.begin(), set.lines.end());
    return {anchor, scan.chance / (part * set.part), std::move(members), set.family, spacing, 0.0,
            {}};
  }

  Slot sideband_slot(std::size_t anchor, const FamilyMember& carrier, int side, double spacing,
                     double spacing_sigma) const {
    const LineRelation& to = relation(anchor, carrier.line);
    const double at = std::exp(to.log_ratio);
    const double own = carrier.line == anchor ? 0.0 : at * to.sigma;
    return {at + side * spacing, std::hypot(side * spacing_sigma, own),
            (std::abs(side) + 1) * spacing, carrier.multiple, side};
  }

  /// Sidebands of neighbouring harmonics can fall together, or on a harmonic.
  bool overlaps(const Slot& slot, const std::vector<double>& tried) const {
    return std::any_of(tried.begin(), tried.end(),
                       [&](double ratio) { return std::abs(ratio / slot.ratio - 1.0) < kOverlap; });
  }

  bool may_be_sideband(std::size_t line, const Carriers& set) const {
    return std::any_of(set.lines.begin(), set.lines.end(), [&](const FamilyMember& carrier) {
      return lines_[line].level_db <= lines_[carrier.line].level_db;
    });
  }

  void accept_sidebands(const Hypothesis& h) {
    if (h.family == kNone) families_.emplace_back();
    LineFamily& family = h.family == kNone ? families_.back() : families_[h.family];
    family.members.insert(family.members.end(), h.members.begin(), h.members.end());
    family.members =
        without_strangers(family.members, [&](std::size_t line) { return lines_[line].level_db; });
    family.false_alarm += h.bound;
    family.spacing = Estimate{h.spacing_ratio * lines_[h.anchor].position, {}};
    for (const FamilyMember& m : family.members) explained_[m.line] = true;
  }

  std::span<const FamilyLine> lines_;
  const FamilyParameters& p_;
  std::vector<bool> explained_;
  std::vector<std::size_t> by_level_;
  std::vector<LineRelation> relations_;  ///< from line · n + to line
  std::vector<double> typical_sigma_;    ///< median of a line's relations to the others
  std::vector<double> log_positions_;
  std::vector<bool> on_grid_;
  Interval extent_;  ///< ln of the lowest and the highest position
  std::vector<LineFamily> families_;
};

}  // namespace

std::vector<FamilyMember> without_strangers(
    const std::vector<FamilyMember>& members,
    const std::function<double(std::size_t line)>& level_db) {
  const auto level_at = [&](int multiple, int sideband) -> std::optional<double> {
    for (const FamilyMember& m : members)
      if (m.multiple == multiple && m.sideband == sideband) return level_db(m.line);
    return std::nullopt;
  };
  const auto is_stranger = [&](const FamilyMember& m) {
    if (m.sideband == 0) return false;
    const double level = level_db(m.line);
    const auto carrier = level_at(m.multiple, 0);
    if (!carrier || level <= *carrier) return false;
    const auto mirror = level_at(m.multiple, -m.sideband);
    return !mirror || *mirror < level - kAskewDb;
  };
  std::vector<FamilyMember> own = members;
  std::erase_if(own, is_stranger);
  return own;
}

bool LineFamily::harmonic() const {
  return std::count_if(members.begin(), members.end(),
                       [](const FamilyMember& m) { return m.sideband == 0; }) > 1;
}

bool LineFamily::carrier_suppressed() const {
  return std::none_of(members.begin(), members.end(),
                      [](const FamilyMember& m) { return m.sideband == 0; });
}

std::vector<LineFamily> find_families(std::span<const FamilyLine> lines,
                                      const FamilyParameters& parameters) {
  if (lines.size() < 2) return {};
  return FamilyFinder(lines, parameters).run();
}

}  // namespace howl
