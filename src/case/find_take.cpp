#include "src/case/find_take.h"

#include <algorithm>

namespace howl {

const Take* find_take(const Case& value, std::string_view id) {
  const auto found = std::ranges::find(value.takes, id, &Take::id);
  return found == value.takes.end() ? nullptr : &*found;
}

const Take& take_of_case(const Case& value, std::string_view id, const std::string& where) {
  const Take* const take = find_take(value, id);
  if (take == nullptr) throw no_such_take(value, where);
  return *take;
}

Error no_such_take(const Case& value, const std::string& where) {
  std::string ids;
  for (const Take& take : value.takes) ids += (ids.empty() ? "" : ", ") + take.id;
  return {Fault::command, where, "the case has no such take",
          ids.empty() ? "add one with howlpoint add" : "its takes are " + ids};
}

}  // namespace howl
