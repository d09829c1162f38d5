//! What outlives the window: preferences, recent plans, and the work that was not saved.
//!
//! ```text
//!   STATE/window.json          preferences and recent plans
//!   STATE/unsaved/ID.json      the plan under work, written within a second of every change
//!   STATE/unsaved/ID.lock      held while its window lives; a file whose lock is free was left
//!                              behind by a crash
//! ```

use std::fs::{self, File};
use std::io;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::time::{Duration, Instant};

use serde::{Deserialize, Serialize};

use super::worker::{Desk, Threads};
use crate::files;
use crate::plan::{self, Plan};

/// Plans that are remembered.
const MOST_RECENT: usize = 12;

/// How the user likes the window.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct Preferences {
    /// Light instead of dark.
    pub light_theme: bool,
    /// Feet and inches instead of metres.
    pub feet: bool,
    /// Plans by their files, the newest first.
    pub recent: Vec<PathBuf>,
    /// Size of everything, 1 as designed.
    pub scale: f32,
}

impl Default for Preferences {
    fn default() -> Self {
        Self { light_theme: false, feet: false, recent: Vec::new(), scale: 1.0 }
    }
}

impl Preferences {
    /// Of a state folder; as they come where there are none.
    pub fn read(state: &Path) -> Self {
        let text = fs::read_to_string(state.join("window.json"));
        text.ok().and_then(|text| serde_json::from_str(&text).ok()).unwrap_or_default()
    }

    /// Writes them.
    pub fn write(&self, state: &Path) -> io::Result<()> {
        fs::create_dir_all(state)?;
        let text = serde_json::to_string_pretty(self)?;
        files::write_whole(&state.join("window.json"), text.as_bytes())
    }

    /// Puts a plan first among the recent ones.
    pub fn remember(&mut self, path: &Path) {
        let path = path.canonicalize().unwrap_or_else(|_| path.to_owned());
        self.recent.retain(|known| *known != path);
        self.recent.insert(0, path);
        self.recent.truncate(MOST_RECENT);
    }
}

/// The folder that programs keep their state in, by the system's custom.
pub fn state_folder() -> PathBuf {
    let set = |name: &str| std::env::var_os(name).filter(|value| !value.is_empty());
    let home = || set("HOME").map(PathBuf::from);
    let base = if cfg!(windows) {
        set("LOCALAPPDATA").map(PathBuf::from)
    } else if cfg!(target_os = "macos") {
        home().map(|home| home.join("Library/Application Support"))
    } else {
        set("XDG_STATE_HOME").map(PathBuf::from).or(home().map(|home| home.join(".local/state")))
    };
    base.unwrap_or_else(std::env::temp_dir).join("foreshadow")
}

/// The plan under work as it is kept.
#[derive(Debug, Clone, Serialize, Deserialize)]
struct Kept {
    /// Its file, if it has one.
    path: Option<PathBuf>,
    /// Where the files it names are looked for.
    folder: PathBuf,
    /// Its text.
    plan: String,
}

/// Work that a crash left behind.
#[derive(Debug, Clone)]
pub struct Unsaved {
    /// Its file, if it had one.
    pub path: Option<PathBuf>,
    /// The plan.
    pub plan: Plan,
    /// Where it is kept.
    kept_at: PathBuf,
}

impl Unsaved {
    /// Forgets it.
    pub fn forget(&self) {
        // what cannot be removed is offered again, which does no harm
        let _ = fs::remove_file(&self.kept_at);
        let _ = fs::remove_file(self.kept_at.with_extension("lock"));
    }
}

/// Work that windows which live no more left behind, the newest first.
pub fn left_behind(state: &Path) -> Vec<Unsaved> {
    let Ok(entries) = fs::read_dir(state.join("unsaved")) else { return Vec::new() };
    let mut found = Vec::new();
    for entry in entries.flatten() {
        let kept_at = entry.path();
        if kept_at.extension().is_none_or(|ending| ending != "json") {
            continue;
        }
        let lock = File::options().write(true).open(kept_at.with_extension("lock"));
        if lock.is_ok_and(|lock| lock.try_lock().is_err()) {
            // its window lives
            continue;
        }
        let kept = fs::read_to_string(&kept_at).ok();
        let Some(kept) = kept.and_then(|text| serde_json::from_str::<Kept>(&text).ok()) else {
            continue;
        };
        let Ok(mut plan) = plan::parse_draft(&kept.plan, "unsaved work") else { continue };
        plan.folder = plan::Folder(kept.folder);
        let when = entry.metadata().and_then(|data| data.modified()).ok();
        found.push((when, Unsaved { path: kept.path, plan, kept_at }));
    }
    found.sort_by_key(|(when, _)| std::cmp::Reverse(*when));
    found.into_iter().map(|(_, unsaved)| unsaved).collect()
}

/// Between two writings.
const PAUSE: Duration = Duration::from_millis(400);

#[derive(Default)]
struct State {
    /// What is to be written; `Some(None)`: nothing is unsaved.
    next: Option<Option<(Arc<Plan>, Option<PathBuf>)>>,
    trouble: Option<String>,
    busy: bool,
}

/// Writes the plan under work beside the preferences, on a thread of its own.
pub struct Autosave {
    desk: Arc<Desk<State>>,
    threads: Threads,
    kept_at: PathBuf,
    /// Held while the window lives.
    _lock: Option<File>,
}

impl Autosave {
    /// For a window with this state folder.
    pub fn start(state: &Path) -> Self {
        let folder = state.join("unsaved");
        // a folder that cannot be made shows at the first writing
        let _ = fs::create_dir_all(&folder);
        let since = std::time::SystemTime::now().duration_since(std::time::UNIX_EPOCH);
        let id = format!("{}-{}", std::process::id(), since.map_or(0, |since| since.as_nanos()));
        let kept_at = folder.join(format!("{id}.json"));
        let lock = File::create(kept_at.with_extension("lock")).ok();
        let lock = lock.filter(|lock| lock.try_lock().is_ok());
        let desk = Arc::<Desk<State>>::default();
        let (own, path) = (desk.clone(), kept_at.clone());
        let threads = Threads::default().with("autosave", move || run(&own, &path));
        Self { desk, threads, kept_at, _lock: lock }
    }

    /// Keeps a plan that its file does not hold; `None` where there is nothing unsaved.
    pub fn keep(&self, unsaved: Option<(Arc<Plan>, Option<PathBuf>)>) {
        self.desk.change(|state| state.next = Some(unsaved));
    }

    /// What kept it from writing, if anything does.
    pub fn trouble(&self) -> Option<String> {
        self.desk.lock().trouble.clone()
    }

    /// Waits until everything is written.
    pub fn settle(&self) {
        let idle = self.threads.is_empty();
        self.desk.wait_until(|state| idle || (state.next.is_none() && !state.busy));
    }
}

impl Drop for Autosave {
    fn drop(&mut self) {
        self.desk.close();
        self.threads.join();
        if !self.kept_at.exists() {
            // nothing was left unsaved
            let _ = fs::remove_file(self.kept_at.with_extension("lock"));
        }
    }
}

fn run(desk: &Desk<State>, kept_at: &Path) {
    let mut last: Option<Instant> = None;
    let open = |state: &mut State| {
        let next = state.next.take();
        state.busy = next.is_some();
        next
    };
    while let Some(next) = desk.next_or_last(open) {
        // a drag changes the plan sixty times a second
        if let Some(rest) = last.and_then(|last| PAUSE.checked_sub(last.elapsed())) {
            std::thread::sleep(rest);
        }
        let next = desk.lock().next.take().unwrap_or(next);
        let done = match next {
            Some((plan, path)) => write(&plan, path, kept_at),
            None => match fs::remove_file(kept_at) {
                Err(error) if error.kind() != io::ErrorKind::NotFound => Err(error),
                _ => Ok(()),
            },
        };
        last = Some(Instant::now());
        let trouble = done.err().map(|error| {
            format!(
                "unsaved work cannot be kept in {}: {error}",
                files::folder_of(kept_at).display()
            )
        });
        desk.change(|state| {
            state.trouble = trouble;
            state.busy = false;
        });
    }
}

fn write(plan: &Plan, path: Option<PathBuf>, kept_at: &Path) -> io::Result<()> {
    let text = plan::to_text(plan).map_err(io::Error::other)?;
    let kept = Kept { path, folder: plan.folder.0.clone(), plan: text };
    files::write_whole(kept_at, serde_json::to_string(&kept)?.as_bytes())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::window::document::Document;

    #[test]
    fn work_that_was_left_behind_is_found_and_work_in_hand_is_not() {
        let state = tempfile::tempdir().unwrap();
        let mut document = Document::empty();
        document.edit("ISO", None, |plan| plan.camera.iso = 640.0).unwrap();
        let autosave = Autosave::start(state.path());
        autosave.keep(Some((document.plan().clone(), Some("/tmp/a.ron".into()))));
        autosave.settle();
        assert!(left_behind(state.path()).is_empty(), "its window lives");
        drop(autosave);
        let found = left_behind(state.path());
        assert_eq!(found.len(), 1);
        assert_eq!(found[0].plan.camera.iso, 640.0);
        assert_eq!(found[0].path.as_deref(), Some(Path::new("/tmp/a.ron")));
        found[0].forget();
        assert!(left_behind(state.path()).is_empty());
    }

    #[test]
    fn saved_work_leaves_nothing() {
        let state = tempfile::tempdir().unwrap();
        let autosave = Autosave::start(state.path());
        autosave.keep(Some((Document::empty().plan().clone(), None)));
        autosave.keep(None);
        autosave.settle();
        drop(autosave);
        assert_eq!(fs::read_dir(state.path().join("unsaved")).unwrap().count(), 0);
    }

    #[test]
    fn recent_plans_are_few_and_each_stands_once() {
        let mut preferences = Preferences::default();
        for number in 0..20 {
            preferences.remember(Path::new(&format!("/no/such/{}.ron", number % 15)));
        }
        assert_eq!(preferences.recent.len(), MOST_RECENT);
        assert_eq!(preferences.recent[0], Path::new("/no/such/4.ron"));
    }
}
