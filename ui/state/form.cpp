#include "ui/state/form.h"

#include <algorithm>
#include <array>
#include <utility>

#include "src/errors.h"
#include "src/profile/load_tests.h"

namespace howl::desk {
namespace {

using Text = TypedTake::Text;

constexpr std::string_view kLoad = "load.";

Text given(const std::string& text) { return text.empty() ? Text{} : Text(text); }

void type_speed(const Form& form, TypedTake& typed) {
  const std::string& kind = form.get("speed");
  if (kind == "steady") typed.rpm = form.get("rpm");
  if (kind == "off") typed.rpm = "0";
  if (kind == "ramp") typed.ramp = form.get("ramp");
  if (kind == "log") typed.log = form.get("log");
  if (kind == "tacho") {
    typed.tacho_channel = form.get("tacho");
    typed.pulses_per_revolution = form.get("pulses");
  }
  if (kind != "sound") return;
  typed.from_sound = true;
  typed.near = given(form.get("near"));
}

std::string trimmed(std::string text) {
  const auto first = text.find_first_not_of(" \t\n");
  if (first == std::string::npos) return {};
  return text.substr(first, text.find_last_not_of(" \t\n") - first + 1);
}

/// "belt=off, mode=sport"
std::vector<std::string> listed(const std::string& text) {
  std::vector<std::string> all;
  std::size_t from = 0;
  while (from <= text.size()) {
    const std::size_t end = std::min(text.find(',', from), text.size());
    if (auto part = trimmed(text.substr(from, end - from)); !part.empty())
      all.push_back(std::move(part));
    from = end + 1;
  }
  return all;
}

void type_loads(const Form& form, TypedTake& typed) {
  for (const auto& [field, value] : form.text)
    if (field.starts_with(kLoad) && !value.empty())
      typed.load.push_back(field.substr(kLoad.size()) + "=" + value);
  for (std::string& load : listed(form.get("loads"))) typed.load.push_back(std::move(load));
}

std::string speed_kind_of(const SpeedSource& speed) {
  constexpr std::array<std::string_view, 6> kinds{"steady", "ramp", "log", "tacho", "sound", "off"};
  return std::string(kinds.at(speed.index()));
}

void put_loads(const LoadState& loads, Form& form) {
  std::string& others = form.text["loads"];
  for (const auto& [key, value] : loads) {
    if (find_load_test(key) != nullptr)
      form.text[std::string(kLoad) + key] = value;
    else
      others += (others.empty() ? "" : ", ") + key + "=" + value;
  }
}

}  // namespace

const std::string& Form::get(std::string_view field) const {
  static const std::string none;
  const auto found = text.find(field);
  return found == text.end() ? none : found->second;
}

const FieldFault* Form::fault(std::string_view field) const {
  const auto found = faults.find(field);
  return found == faults.end() ? nullptr : &found->second;
}

void Form::enter(const std::string& field, const std::string& entered) {
  if (get(field) != entered) {
    faults.erase(field);
    faults.erase("");
  }
  text[field] = entered;
}

TypedTake typed_take_of(const Form& form) {
  TypedTake typed;
  typed.new_point = !form.get("new-point").empty();
  typed.point = typed.new_point ? trimmed(form.get("new-point")) : form.get("point");
  type_speed(form, typed);
  typed.channel = given(form.get("channel"));
  typed.reference_channel = given(form.get("reference"));
  type_loads(form, typed);
  typed.road_speed = given(form.get("road-speed"));
  typed.background = form.get("background") == "on";
  typed.note = form.get("note");
  return typed;
}

Form form_of(const Take& take) {
  const TypedTake typed = howl::typed_take_of(take);
  Form form;
  const auto put = [&](const char* field, const Text& text) {
    form.text[field] = text.value_or("");
  };
  form.text["point"] = typed.point;
  form.text["speed"] = speed_kind_of(take.speed);
  put("rpm", form.get("speed") == "off" ? Text{} : typed.rpm);
  put("ramp", typed.ramp);
  put("tacho", typed.tacho_channel);
  put("pulses", typed.pulses_per_revolution);
  put("near", typed.near);
  put("channel", typed.channel);
  put("reference", typed.reference_channel);
  put("road-speed", typed.road_speed);
  form.text["background"] = typed.background ? "on" : "";
  form.text["note"] = typed.note;
  put_loads(take.load, form);
  return form;
}

std::vector<std::string> missing_in(const Form& form) {
  std::vector<std::string> missing;
  if (form.get("point").empty() && trimmed(form.get("new-point")).empty())
    missing.emplace_back("point");
  const std::string& kind = form.get("speed");
  constexpr std::array<std::pair<std::string_view, std::string_view>, 4> needs{
      {{"steady", "rpm"}, {"ramp", "ramp"}, {"log", "log"}, {"tacho", "pulses"}}};
  const auto need = std::ranges::find(needs, kind, [](const auto& each) { return each.first; });
  const bool lacks = need != needs.end() && trimmed(form.get(need->second)).empty();
  if (kind.empty() || lacks) missing.emplace_back("speed");
  return missing;
}

std::string field_of(const Error& error) {
  // Longest first, where one begins like another.
  constexpr std::array<std::pair<std::string_view, std::string_view>, 16> fields{
      {{"--rpm-ramp", "ramp"},
       {"--rpm-log", "log"},
       {"--rpm-near", "near"},
       {"--rpm", "rpm"},
       {"--tacho-channel", "tacho"},
       {"--pulses-per-rev", "pulses"},
       {"--reference-channel", "reference"},
       {"--channel", "channel"},
       {"--load", "loads"},
       {"--road-speed", "road-speed"},
       {"--point", "point"},
       {"probe point", "point"},
       {"speed log", "log"},
       {"entered speed", "rpm"},
       {"road speed", "road-speed"},
       {"channel", "channel"}}};
  for (const auto& [prefix, field] : fields)
    if (error.where().starts_with(prefix)) return std::string(field);
  return {};
}

void copy_facts(const Form& from, Form& to) {
  const std::string note = to.get("note");
  const std::string log = to.get("log");
  const std::string kind = to.get("speed");
  to.text = from.text;
  to.text["note"] = note;
  to.text["log"] = log;
  if (!log.empty() && kind == "log") to.text["speed"] = kind;
  to.faults.clear();
}

}  // namespace howl::desk
