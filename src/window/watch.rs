//! The plan's file, watched: an editor may change it while the window is open.

use std::fs;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::time::{Duration, Instant, SystemTime};

use crate::plan::{self, Plan, PlanError};

/// How often the file is asked.
const EVERY: Duration = Duration::from_millis(400);

/// What the file did.
#[derive(Debug)]
pub enum Seen {
    /// It says something else now.
    Changed(Arc<Plan>),
    /// It says what cannot be read as a plan.
    Broken(PlanError),
    /// It has gone.
    Gone,
}

/// Size and time of writing: what changes when a file is written.
type Stamp = Option<(u64, SystemTime)>;

/// A file and what it was when it was last looked at.
#[derive(Debug)]
pub struct Watch {
    path: PathBuf,
    stamp: Stamp,
    asked: Instant,
}

fn stamp(path: &Path) -> Stamp {
    let data = fs::metadata(path).ok()?;
    Some((data.len(), data.modified().ok()?))
}

impl Watch {
    /// Watches a file that has just been read or written.
    pub fn new(path: &Path) -> Self {
        Self { path: path.to_owned(), stamp: stamp(path), asked: Instant::now() }
    }

    /// The watched file.
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// Looks at the file if it is time to.
    pub fn look(&mut self) -> Option<Seen> {
        if self.asked.elapsed() < EVERY {
            return None;
        }
        self.look_now()
    }

    /// Looks at the file.
    pub fn look_now(&mut self) -> Option<Seen> {
        self.asked = Instant::now();
        let now = stamp(&self.path);
        if now == self.stamp {
            return None;
        }
        self.stamp = now;
        if now.is_none() {
            return Some(Seen::Gone);
        }
        Some(match plan::read_draft(&self.path) {
            Ok(plan) => Seen::Changed(Arc::new(plan)),
            Err(error) => Seen::Broken(error),
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_written_file_is_seen_once() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("a.ron");
        fs::write(&path, "(format: 1)").unwrap();
        let mut watch = Watch::new(&path);
        assert!(watch.look_now().is_none());
        fs::write(&path, "(format: 1, ambient: (ev: 5))").unwrap();
        assert!(matches!(watch.look_now(), Some(Seen::Changed(plan)) if plan.ambient.is_some()));
        assert!(watch.look_now().is_none());
        fs::write(&path, "(format: 1, ambient: (ev: )").unwrap();
        assert!(matches!(watch.look_now(), Some(Seen::Broken(_))));
        fs::remove_file(&path).unwrap();
        assert!(matches!(watch.look_now(), Some(Seen::Gone)));
    }
}
