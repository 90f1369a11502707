#include "ui/jobs/jobs.h"

#include <doctest/doctest.h>

#include <atomic>
#include <chrono>
#include <stdexcept>
#include <string>
#include <thread>
#include <vector>

using namespace howl::desk;  // NOLINT(google-build-using-namespace)

TEST_CASE("a job's result is taken in by poll(), in the thread that polls") {
  Jobs jobs;
  std::thread::id worked;
  std::thread::id done;
  jobs.start(Jobs::Lane::work, "sum",
             [&](JobContext&) -> Jobs::Done {
               worked = std::this_thread::get_id();
               return [&] { done = std::this_thread::get_id(); };
             },
             {});
  jobs.finish_all();
  CHECK(done == std::this_thread::get_id());
  CHECK(worked != done);
  CHECK_FALSE(jobs.busy());
}

TEST_CASE("why a job failed is told where it is polled") {
  Jobs jobs;
  std::string told;
  jobs.start(
      Jobs::Lane::work, "fails",
      [](JobContext&) -> Jobs::Done { throw std::runtime_error("no such take"); },
      [&](const std::exception& problem) { told = problem.what(); });
  jobs.finish_all();
  CHECK(told == "no such take");
}

TEST_CASE("a cancelled job ends, and its result is thrown away") {
  Jobs jobs;
  std::atomic<bool> begun{};
  bool done = false;
  const JobId id = jobs.start(Jobs::Lane::work, "long",
                              [&](JobContext& context) -> Jobs::Done {
                                begun = true;
                                for (;;) {
                                  context.report(0.5, "on its way");
                                  std::this_thread::yield();
                                }
                                return [&] { done = true; };
                              },
                              {});
  while (!begun) std::this_thread::yield();
  const auto running = jobs.running();
  REQUIRE(running.size() == 1);
  CHECK(running.front().title == "long");
  jobs.cancel(id);
  jobs.finish_all();
  CHECK_FALSE(done);
}

TEST_CASE("what is cancelled after it ended, and before it was taken in, is thrown away too") {
  Jobs jobs;
  std::vector<std::string> done;
  JobId second = 0;
  const JobId first =
      jobs.start(Jobs::Lane::work, "first",
                 [&](JobContext&) { return [&] { done.emplace_back("first"); }; }, {});
  jobs.start(Jobs::Lane::work, "canceller",
             [&](JobContext&) {
               return [&] {
                 done.emplace_back("canceller");
                 jobs.cancel(second);
               };
             },
             {});
  std::atomic<bool> ended{};
  second = jobs.start(Jobs::Lane::work, "second",
                      [&](JobContext&) { return [&] { done.emplace_back("second"); }; }, {});
  jobs.start(Jobs::Lane::work, "last",
             [&](JobContext&) {
               ended = true;
               return [] {};
             },
             {});
  while (!ended) std::this_thread::yield();
  jobs.cancel(first);
  jobs.finish_all();
  CHECK(done == std::vector<std::string>{"canceller"});
}

TEST_CASE("pictures come newest first, work as it was asked for") {
  for (const auto lane : {Jobs::Lane::work, Jobs::Lane::pictures}) {
    Jobs jobs;
    std::atomic<bool> go{};
    std::vector<int> order;
    const auto add = [&](int number) {
      jobs.start(lane, "n",
                 [&, number](JobContext&) -> Jobs::Done {
                   while (!go) std::this_thread::yield();
                   return [&, number] { order.push_back(number); };
                 },
                 {});
    };
    add(0);
    while (lane == Jobs::Lane::work && jobs.running().empty()) std::this_thread::yield();
    std::this_thread::sleep_for(std::chrono::milliseconds(50));  // the first one begins
    add(1);
    add(2);
    go = true;
    jobs.finish_all();
    CHECK(order == (lane == Jobs::Lane::work ? std::vector{0, 1, 2} : std::vector{0, 2, 1}));
  }
}

TEST_CASE("jobs that wait or run do not keep the program from ending") {
  std::atomic<bool> begun{};
  {
    Jobs jobs;
    for (int i = 0; i < 3; ++i)
      jobs.start(Jobs::Lane::work, "long",
                 [&](JobContext& context) -> Jobs::Done {
                   begun = true;
                   for (;;) {
                     context.throw_if_cancelled();
                     std::this_thread::yield();
                   }
                 },
                 {});
    while (!begun) std::this_thread::yield();
  }
  CHECK(begun);
}

TEST_CASE("what becomes of a job that was told to end is not told") {
  Jobs jobs;
  std::atomic<bool> begun{};
  std::atomic<bool> go{};
  bool told = false;
  const JobId id = jobs.start(
      Jobs::Lane::work, "fails late",
      [&](JobContext&) -> Jobs::Done {
        begun = true;
        while (!go) std::this_thread::yield();
        throw std::runtime_error("the disk is gone");
      },
      [&](const std::exception&) { told = true; });
  while (!begun) std::this_thread::yield();
  jobs.cancel(id);
  go = true;
  jobs.finish_all();
  CHECK_FALSE(told);
}

TEST_CASE("what is to be stored is stored, whatever is called off or ends") {
  std::atomic<int> stored{};
  {
    Jobs jobs;
    for (int i = 0; i < 3; ++i)
      jobs.start(Jobs::Lane::store, "store",
                 [&](JobContext&) -> Jobs::Done {
                   std::this_thread::sleep_for(std::chrono::milliseconds(5));
                   ++stored;
                   return {};
                 },
                 {});
    jobs.cancel_all();
  }
  CHECK(stored == 3);
}
