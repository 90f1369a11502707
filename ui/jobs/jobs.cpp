#include "ui/jobs/jobs.h"

#include <exception>
#include <stdexcept>
#include <utility>

namespace howl::desk {

struct JobContext::State {
  bool to_its_end{};  // of the lane `store`
  std::atomic<bool> cancelled{};
  std::mutex mutex;
  double fraction{};
  std::string stage;
  std::function<void()> wake;

  void call_off() {
    if (!to_its_end) cancelled = true;
  }
};

struct Jobs::Job {
  JobId id{};
  std::string title;
  Work work;
  Failed failed;
  std::shared_ptr<JobContext::State> state;
};

struct Jobs::Queue {
  Lane lane{};
  std::deque<std::shared_ptr<Job>> waiting;
  std::shared_ptr<Job> running;
  std::thread thread;
};

void JobContext::throw_if_cancelled() const {
  if (state_->cancelled) throw JobCancelled{};
}

void JobContext::report(double fraction, std::string_view stage) {
  throw_if_cancelled();
  {
    const std::lock_guard lock(state_->mutex);
    if (state_->fraction == fraction && state_->stage == stage) return;
    state_->fraction = fraction;
    state_->stage = stage;
  }
  if (state_->wake) state_->wake();
}

Jobs::Jobs(std::function<void()> wake) : wake_(std::move(wake)) {
  for (const Lane lane : {Lane::work, Lane::pictures, Lane::sound, Lane::disk, Lane::store}) {
    queues_.push_back(std::make_unique<Queue>());
    queues_.back()->lane = lane;
  }
  for (const auto& queue : queues_)
    queue->thread = std::thread([this, q = queue.get()] { run_lane(*q); });
}

Jobs::~Jobs() {
  cancel_all();
  {
    const std::lock_guard lock(mutex_);
    ending_ = true;
  }
  changed_.notify_all();
  for (const auto& queue : queues_) queue->thread.join();
}

JobId Jobs::start(Lane lane, std::string title, Work work, Failed failed) {
  const auto job = std::make_shared<Job>();
  job->title = std::move(title);
  job->work = std::move(work);
  job->failed = std::move(failed);
  job->state = std::make_shared<JobContext::State>();
  job->state->to_its_end = lane == Lane::store;
  job->state->wake = wake_;
  {
    const std::lock_guard lock(mutex_);
    job->id = ++last_id_;
    queues_.at(static_cast<std::size_t>(lane))->waiting.push_back(job);
  }
  changed_.notify_all();
  return job->id;
}

void Jobs::cancel(JobId id) {
  const std::lock_guard lock(mutex_);
  for (const auto& queue : queues_) {
    if (queue->lane == Lane::store) continue;
    std::erase_if(queue->waiting, [&](const auto& job) { return job->id == id; });
    if (queue->running && queue->running->id == id) queue->running->state->call_off();
  }
  for (const Outcome& outcome : done_)
    if (outcome.id == id) outcome.state->call_off();
}

void Jobs::cancel_all() {
  const std::lock_guard lock(mutex_);
  for (const auto& queue : queues_) {
    if (queue->lane == Lane::store) continue;
    queue->waiting.clear();
    if (queue->running) queue->running->state->call_off();
  }
  for (const Outcome& outcome : done_) outcome.state->call_off();
}

std::shared_ptr<Jobs::Job> Jobs::next_job(Queue& queue) {
  std::unique_lock lock(mutex_);
  queue.running.reset();
  changed_.notify_all();
  changed_.wait(lock, [&] { return ending_ || !queue.waiting.empty(); });
  if (queue.waiting.empty() || (ending_ && queue.lane != Lane::store)) return nullptr;
  const bool newest = queue.lane == Lane::pictures;
  queue.running = newest ? queue.waiting.back() : queue.waiting.front();
  newest ? queue.waiting.pop_back() : queue.waiting.pop_front();
  return queue.running;
}

void Jobs::run_lane(Queue& queue) {
  while (const auto job = next_job(queue)) run(*job);
}

void Jobs::run(Job& job) {
  JobContext context(job.state);
  try {
    Done done = job.work(context);
    deliver(job, [state = job.state, done = std::move(done)] {
      if (!state->cancelled && done) done();
    });
  } catch (const JobCancelled&) {
    deliver(job, [] {});
  } catch (const std::exception&) {
    deliver(job, [state = job.state, failed = job.failed, why = std::current_exception()] {
      if (state->cancelled) return;
      try {
        std::rethrow_exception(why);
      } catch (const std::exception& problem) {
        if (failed) failed(problem);
      }
    });
  }
}

void Jobs::deliver(const Job& job, Done done) {
  {
    const std::lock_guard lock(mutex_);
    done_.push_back({job.id, job.state, std::move(done)});
  }
  changed_.notify_all();
  if (wake_) wake_();
}

/// One after another, because what is done with one may cancel the next.
bool Jobs::poll() {
  std::unique_lock lock(mutex_);
  const std::size_t ready = done_.size();
  for (std::size_t i = 0; i < ready && !done_.empty(); ++i) {
    const Done done = std::move(done_.front().done);
    done_.pop_front();
    lock.unlock();
    done();
    lock.lock();
  }
  return ready > 0;
}

bool Jobs::busy() const {
  const std::lock_guard lock(mutex_);
  if (!done_.empty()) return true;
  for (const auto& queue : queues_)
    if (queue->running || !queue->waiting.empty()) return true;
  return false;
}

void Jobs::finish_all() {
  while (busy()) {
    if (poll()) continue;
    std::unique_lock lock(mutex_);
    changed_.wait_for(lock, std::chrono::milliseconds(20));
  }
}

std::vector<JobStatus> Jobs::running() const {
  const std::lock_guard lock(mutex_);
  std::vector<JobStatus> all;
  const Queue& queue = *queues_.front();
  const auto tell = [&](const Job& job) {
    const std::lock_guard own(job.state->mutex);
    all.push_back({job.id, job.title, job.state->stage, job.state->fraction});
  };
  if (queue.running) tell(*queue.running);
  for (const auto& job : queue.waiting) tell(*job);
  return all;
}

}  // namespace howl::desk
