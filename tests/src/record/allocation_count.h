#pragma once

#include <cstdint>

namespace howl::test {

/// Counts what this thread allocates, by new or malloc, as long as it lives. One at a time.
class AllocationCount {
 public:
  AllocationCount();
  ~AllocationCount();
  AllocationCount(const AllocationCount&) = delete;
  AllocationCount& operator=(const AllocationCount&) = delete;
  std::int64_t allocations() const;
};

}  // namespace howl::test
