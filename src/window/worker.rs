//! Work beside the interface: state that threads share, and threads that end with their owner.
//!
//! In: changes of the state from the interface. Out: each thread's next piece of work, until the
//! owner closes the desk.

use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Condvar, Mutex, MutexGuard, PoisonError};
use std::thread::JoinHandle;

/// State that is worked on from several threads.
#[derive(Default)]
pub struct Desk<S> {
    state: Mutex<S>,
    changed: Condvar,
    /// Written with the state locked, so that nobody who goes to sleep misses it.
    closing: AtomicBool,
}

impl<S> Desk<S> {
    /// The state. A thread that panicked with it in hand has said so; what it left is used.
    pub fn lock(&self) -> MutexGuard<'_, S> {
        self.state.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Changes the state and wakes those who wait; what `change` returns.
    pub fn change<T>(&self, change: impl FnOnce(&mut S) -> T) -> T {
        let done = change(&mut self.lock());
        self.changed.notify_all();
        done
    }

    /// Waits until `over` holds.
    pub fn wait_until(&self, mut over: impl FnMut(&S) -> bool) {
        let mut state = self.lock();
        while !over(&state) {
            state = self.changed.wait(state).unwrap_or_else(PoisonError::into_inner);
        }
    }

    /// Waits for work; `None` once the desk is closed, whatever is left to do.
    pub fn next<T>(&self, mut find: impl FnMut(&mut S) -> Option<T>) -> Option<T> {
        self.next_or_last(|state| if self.is_closing() { None } else { find(state) })
    }

    /// The same, but what is there when the desk closes is still handed out.
    pub fn next_or_last<T>(&self, mut find: impl FnMut(&mut S) -> Option<T>) -> Option<T> {
        let mut state = self.lock();
        loop {
            if let Some(found) = find(&mut state) {
                return Some(found);
            }
            if self.is_closing() {
                return None;
            }
            state = self.changed.wait(state).unwrap_or_else(PoisonError::into_inner);
        }
    }

    /// Whether the owner is going.
    pub fn is_closing(&self) -> bool {
        self.closing.load(Ordering::Relaxed)
    }

    /// Ends the waiting.
    pub fn close(&self) {
        self.change(|_| self.closing.store(true, Ordering::Relaxed));
    }
}

/// Threads at a desk; waited for when dropped, so close the desk first.
#[derive(Default)]
pub struct Threads(Vec<JoinHandle<()>>);

impl Threads {
    /// One more. A machine that cannot start it does without.
    pub fn with(mut self, name: &str, work: impl FnOnce() + Send + 'static) -> Self {
        self.0.extend(std::thread::Builder::new().name(name.into()).spawn(work));
        self
    }

    /// Whether none could be started.
    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    /// Waits until they have ended.
    pub fn join(&mut self) {
        for thread in self.0.drain(..) {
            // a thread that panicked has said so
            let _ = thread.join();
        }
    }
}

impl Drop for Threads {
    fn drop(&mut self) {
        self.join();
    }
}

#[cfg(test)]
mod tests {
    use std::sync::Arc;

    use super::*;

    /// Work handed over after the thread has gone to sleep, then the desk closed over more.
    fn done_at(drains: bool) -> Vec<u32> {
        let desk = Arc::new(Desk::<(Vec<u32>, Vec<u32>)>::default());
        let own = desk.clone();
        let mut threads = Threads::default().with("test", move || {
            loop {
                let next = match drains {
                    true => own.next_or_last(|state| state.0.pop()),
                    false => own.next(|state| state.0.pop()),
                };
                let Some(next) = next else { return };
                own.change(|state| state.1.push(next));
            }
        });
        desk.change(|state| state.0.push(1));
        desk.wait_until(|state| state.1 == [1]);
        let mut state = desk.lock();
        state.0.push(2);
        desk.closing.store(true, Ordering::Relaxed);
        drop(state);
        desk.close();
        threads.join();
        desk.lock().1.clone()
    }

    #[test]
    fn a_closed_desk_ends_its_threads() {
        assert_eq!(done_at(false), [1]);
        assert_eq!(done_at(true), [1, 2]);
    }
}
