#pragma once

#include <filesystem>

#include "src/case/case.h"
#include "src/record/record_take.h"
#include "tests/src/record/fake_sound.h"
#include "tests/src/scratch_folder.h"

namespace howl::test {

/// A case with one probe point, to be recorded into from a FakeSystem.
struct WorkshopCase {
  ScratchFolder scratch;
  std::filesystem::path folder = scratch / "case";

  WorkshopCase() {
    Case value;
    value.title = "whine";
    value.profile = "blank-four-stroke";
    value.points = {{.name = "bell housing", .description = ""}};
    create_case(folder, value);
  }

  RecordOrder order(int channels = 1) const {
    RecordOrder order;
    order.folder = folder;
    order.take.point = "bell housing";
    order.take.speed = EnteredSpeed{Rpm(1800.0)};
    order.take.channels = channels;
    order.take.sample_rate = 48000.0;
    order.device = FakeSystem::device();
    return order;
  }
};

}  // namespace howl::test
