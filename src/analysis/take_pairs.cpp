#include "src/analysis/take_pairs.h"

#include <algorithm>
#include <optional>
#include <tuple>
#include <utility>

#include "src/analysis/like_takes.h"
#include "src/lower_case.h"

namespace howl {

namespace {

std::string plain_name(std::string_view name) {
  std::string plain;
  for (const char c : name)
    if (c != ' ' && c != '\t') plain += lower_case(c);
  return plain;
}

/// The name of a point of the case before as the case after has it.
std::string renamed_point(const std::string& point, const PointMap& renamed) {
  for (const auto& [from, to] : renamed)
    if (same_point(from, point)) return to;
  return point;
}

struct RowGroup {
  TakeRow row;
  std::vector<std::string> ids_before;
  std::vector<std::string> ids_after;
};

}  // namespace

bool same_point(std::string_view a, std::string_view b) { return plain_name(a) == plain_name(b); }

TakePairs pair_takes(const std::vector<TakeAudio>& before, const std::vector<TakeAudio>& after,
                     const PointMap& renamed) {
  std::vector<TakeAudio> all = before;
  all.insert(all.end(), after.begin(), after.end());
  mark_unknown_motion(all);
  const std::vector<std::size_t> condition = conditions_of(all);

  TakePairs pairs;
  std::vector<std::pair<std::string, std::size_t>> keys;  // in the order of the takes
  std::vector<RowGroup> groups;
  for (std::size_t i = 0; i < all.size(); ++i) {
    const bool is_before = i < before.size();
    const std::string name =
        is_before ? renamed_point(all[i].point, renamed) : std::string(all[i].point);
    const std::pair key(plain_name(name), condition[i]);
    auto place = static_cast<std::size_t>(std::find(keys.begin(), keys.end(), key) - keys.begin());
    if (place == keys.size()) {
      keys.push_back(key);
      groups.emplace_back();
      groups.back().row.point = all[i].point;
      groups.back().row.condition = describe_condition(all[i]);
      groups.back().row.condition_number = condition[i];
    }
    RowGroup& group = groups[place];
    (is_before ? group.row.before : group.row.after).push_back(is_before ? i : i - before.size());
    (is_before ? group.ids_before : group.ids_after).push_back(all[i].id);
    (is_before ? pairs.condition_before : pairs.condition_after).push_back(condition[i]);
  }
  for (RowGroup& group : groups) {
    if (group.row.after.empty())
      pairs.only_before.push_back({group.row.point, group.row.condition, group.ids_before});
    else if (group.row.before.empty())
      pairs.only_after.push_back({group.row.point, group.row.condition, group.ids_after});
    else
      pairs.rows.push_back(std::move(group.row));
  }
  return pairs;
}

}  // namespace howl
