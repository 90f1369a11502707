#include "tests/src/record/allocation_count.h"

#include <cstddef>

namespace {

thread_local bool counting = false;
thread_local std::int64_t counted = 0;

void note_allocation() {
  if (counting) ++counted;
}

}  // namespace

#if defined(__SANITIZE_ADDRESS__)

// The sanitizer has an allocator of its own, which tells.
extern "C" int __sanitizer_install_malloc_and_free_hooks(void (*on_malloc)(const volatile void*,
                                                                           std::size_t),
                                                         void (*on_free)(const volatile void*));

namespace {

void on_malloc(const volatile void* /*block*/, std::size_t /*size*/) { note_allocation(); }
void on_free(const volatile void* /*block*/) {}
[[maybe_unused]] const int installed =
    __sanitizer_install_malloc_and_free_hooks(on_malloc, on_free);

}  // namespace

#else

// In place of the C library's, which new calls too.
extern "C" {
void* __libc_malloc(std::size_t size);
void* __libc_calloc(std::size_t count, std::size_t size);
void* __libc_realloc(void* block, std::size_t size);
void* __libc_memalign(std::size_t alignment, std::size_t size);

void* malloc(std::size_t size) {
  note_allocation();
  return __libc_malloc(size);
}
void* calloc(std::size_t count, std::size_t size) {
  note_allocation();
  return __libc_calloc(count, size);
}
void* realloc(void* block, std::size_t size) {
  note_allocation();
  return __libc_realloc(block, size);
}
void* aligned_alloc(std::size_t alignment, std::size_t size) {
  note_allocation();
  return __libc_memalign(alignment, size);
}
}

#endif

namespace howl::test {

AllocationCount::AllocationCount() {
  counted = 0;
  counting = true;
}
AllocationCount::~AllocationCount() { counting = false; }

std::int64_t AllocationCount::allocations() const { return counted; }

}  // namespace howl::test
