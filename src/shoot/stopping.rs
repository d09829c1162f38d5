//! Long work that may be called off: whoever starts it on a thread of its own says what to watch.

use std::cell::RefCell;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};

thread_local! {
    static WATCHED: RefCell<Option<Arc<AtomicBool>>> = const { RefCell::new(None) };
}

/// Does `work`, whose renderings end with [`super::ShootError::Stopped`] soon after `stop` turns
/// true. Holds for this thread, which is the one that waits for them.
pub fn stoppable<T>(stop: &Arc<AtomicBool>, work: impl FnOnce() -> T) -> T {
    let before = WATCHED.replace(Some(stop.clone()));
    let done = work();
    WATCHED.set(before);
    done
}

/// Whether the work under way is called off.
pub(super) fn stopped() -> bool {
    WATCHED.with_borrow(|watched| watched.as_ref().is_some_and(|stop| stop.load(Ordering::Relaxed)))
}
