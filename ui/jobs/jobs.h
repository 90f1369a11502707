#pragma once

#include <atomic>
#include <condition_variable>
#include <cstdint>
#include <deque>
#include <functional>
#include <memory>
#include <mutex>
#include <string>
#include <string_view>
#include <thread>
#include <vector>

namespace howl::desk {

/// Thrown inside a job that was told to end.
struct JobCancelled {};

using JobId = std::uint64_t;

/// A job's end of the line to the window. Safe to use in the job's thread.
class JobContext {
 public:
  /// Says how far it is, 0 … 1; throws JobCancelled where the job was told to end.
  void report(double fraction, std::string_view stage);
  void throw_if_cancelled() const;

 private:
  friend class Jobs;
  struct State;
  explicit JobContext(std::shared_ptr<State> state) : state_(std::move(state)) {}
  std::shared_ptr<State> state_;
};

struct JobStatus {
  JobId id{};
  std::string title;
  std::string stage;
  double fraction{};
};

/// Work beside the window's thread. A job computes, and hands back what is to be done with the
/// result in the window's thread; poll() does that, so that nothing that is drawn needs a lock.
class Jobs {
 public:
  /// Five lanes, a thread each: all but `pictures` one after another as they came; `pictures`
  /// newest first, because what is looked at now matters more than what was looked at before. What
  /// changes a case is in `store`, waits for nothing that computes, and is always done to its end.
  enum class Lane { work, pictures, sound, disk, store };
  using Done = std::function<void()>;
  using Work = std::function<Done(JobContext&)>;
  /// Told, in the window's thread, why a job failed; not of one that was told to end.
  using Failed = std::function<void(const std::exception&)>;

  /// `wake` is called from job threads when the window has something to look at.
  explicit Jobs(std::function<void()> wake = {});
  ~Jobs();
  Jobs(const Jobs&) = delete;
  Jobs& operator=(const Jobs&) = delete;

  JobId start(Lane lane, std::string title, Work work, Failed failed);
  /// Not those of the lane `store`.
  void cancel(JobId id);
  void cancel_all();

  /// The window's thread: takes in what is done. True if anything was.
  bool poll();
  /// Waits until nothing runs or waits, polling meanwhile; for tests and scripts.
  void finish_all();
  bool busy() const;
  /// Of the lane `work`, for the progress line.
  std::vector<JobStatus> running() const;

 private:
  struct Job;
  struct Queue;
  struct Outcome {  ///< of a job that ended, until poll() takes it in
    JobId id{};
    std::shared_ptr<JobContext::State> state;
    Done done;
  };
  void run_lane(Queue& queue);
  std::shared_ptr<Job> next_job(Queue& queue);
  void run(Job& job);
  void deliver(const Job& job, Done done);

  std::function<void()> wake_;
  mutable std::mutex mutex_;
  std::condition_variable changed_;
  std::vector<std::unique_ptr<Queue>> queues_;
  std::deque<Outcome> done_;
  JobId last_id_{};
  bool ending_{};
};

}  // namespace howl::desk
