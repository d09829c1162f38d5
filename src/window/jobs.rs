//! Long work of the verbs on threads of their own: how far it is, calling it off, how it ended.

use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

use crate::plan::Plan;
use crate::shoot::balance::{BalanceOptions, Balanced};
use crate::shoot::papers::{self, PaperPlace, SeriesOptions, SheetOptions, Units};
use crate::shoot::{self, Note, Output, Progress, Settle, ShootError, StillOptions};

/// What can be made of a plan.
#[derive(Debug, Clone, PartialEq)]
pub enum Make {
    /// A still.
    Still {
        /// Longest side, pixels.
        long_side: u32,
        /// Settled within, stops.
        within_stops: f64,
    },
    /// The test frames on a page.
    Series,
    /// The pages to build the set from.
    Sheet {
        /// Printed in feet and inches.
        feet: bool,
    },
    /// A map of stops.
    Map,
    /// The stage as glTF, into a folder.
    Export,
}

impl Make {
    /// A name for the file.
    pub fn file_name(&self, plan_name: &str) -> String {
        match self {
            Self::Still { .. } => format!("{plan_name}.png"),
            Self::Series => format!("{plan_name}-series.pdf"),
            Self::Sheet { .. } => format!("{plan_name}-sheet.pdf"),
            Self::Map => format!("{plan_name}-stops.png"),
            Self::Export => format!("{plan_name}-stage"),
        }
    }

    /// What it is called.
    pub fn title(&self) -> &'static str {
        match self {
            Self::Still { .. } => "Still",
            Self::Series => "Test series",
            Self::Sheet { .. } => "Set-up sheet",
            Self::Map => "Map of stops",
            Self::Export => "Stage for 3D programs",
        }
    }
}

/// What a job gave.
#[derive(Debug, Clone)]
pub enum Outcome {
    /// A file, or a folder.
    Wrote(PathBuf),
    /// Powers that give the wished readings.
    Balanced(Arc<Plan>, Arc<Balanced>),
    /// What to know before the day.
    Notes(Arc<Vec<Note>>),
    /// Called off.
    Stopped,
    /// It cannot be.
    Failed(String),
}

#[derive(Default)]
struct State {
    done: f32,
    step: &'static str,
    outcome: Option<Outcome>,
}

/// One piece of work.
#[derive(Clone)]
pub struct Job {
    /// What it is, in words.
    pub title: String,
    state: Arc<Mutex<State>>,
    stop: Arc<AtomicBool>,
}

impl Job {
    /// Starts work on a thread of its own. `wake` is called as it gets on.
    pub fn start(
        title: String,
        wake: impl Fn() + Send + Sync + 'static,
        work: impl FnOnce(&(dyn Fn(Progress) + Sync)) -> Result<Outcome, ShootError> + Send + 'static,
    ) -> Self {
        let job = Self { title, state: Arc::default(), stop: Arc::default() };
        let own = job.clone();
        let run = move || {
            let progress = |now: Progress| {
                let mut state = own.lock();
                state.done = now.done as f32;
                state.step = now.step;
                drop(state);
                wake();
            };
            let outcome = match shoot::stoppable(&own.stop, || work(&progress)) {
                Ok(outcome) => outcome,
                Err(ShootError::Stopped) => Outcome::Stopped,
                Err(error) => Outcome::Failed(error.to_string()),
            };
            own.lock().outcome = Some(outcome);
            wake();
        };
        if let Err(error) = std::thread::Builder::new().name("job".into()).spawn(run) {
            job.lock().outcome = Some(Outcome::Failed(format!("no thread for it: {error}")));
        }
        job
    }

    fn lock(&self) -> MutexGuard<'_, State> {
        self.state.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Share done, and what is being done.
    pub fn progress(&self) -> (f32, &'static str) {
        let state = self.lock();
        (state.done, state.step)
    }

    /// Calls it off.
    pub fn stop(&self) {
        self.stop.store(true, Ordering::Relaxed);
    }

    /// How it ended, once.
    pub fn take_outcome(&self) -> Option<Outcome> {
        self.lock().outcome.take()
    }
}

/// Starts to make something of a plan.
pub fn make(
    plan: Arc<Plan>,
    what: Make,
    path: PathBuf,
    wake: impl Fn() + Send + Sync + 'static,
) -> Job {
    let title = format!("{}: {}", what.title(), path.display());
    Job::start(title, wake, move |progress| {
        made(&plan, &what, &path, progress)?;
        Ok(Outcome::Wrote(path))
    })
}

fn made(
    plan: &Plan,
    what: &Make,
    path: &Path,
    progress: &(dyn Fn(Progress) + Sync),
) -> Result<(), ShootError> {
    let seed = 1;
    let date = papers::today();
    match what {
        Make::Still { long_side, within_stops } => {
            let output = Output::picture(path)?;
            let settle = Settle::Within { stops: *within_stops };
            let stage = crate::stage::build(plan)?;
            let size = Some(shoot::default_size(&stage, f64::from(*long_side)));
            let options = StillOptions { size, settle, seed, ..StillOptions::default() };
            shoot::still(plan, &options, &output, progress)
        }
        Make::Map => {
            let output = Output::picture(path)?;
            let options = StillOptions { seed, ..StillOptions::default() };
            shoot::stops_map(plan, &options, &Default::default(), &output, progress)
        }
        Make::Series => {
            let place = PaperPlace::of(path, true)?;
            let still = StillOptions { seed, ..StillOptions::default() };
            let options = SeriesOptions { still, paper: Default::default(), date };
            papers::series(plan, &options, &place, progress).map(drop)
        }
        Make::Sheet { feet } => {
            let place = PaperPlace::of(path, false)?;
            let units = if *feet { Units::Feet } else { Units::Metres };
            let paper = Default::default();
            let options = SheetOptions { job: String::new(), date, units, paper, seed };
            papers::sheet(plan, &options, &place, progress).map(drop)
        }
        Make::Export => {
            progress(Progress { done: 0.0, step: "building" });
            shoot::output::folder(path)?;
            shoot::export(plan, path)
        }
    }
}

/// Starts to solve powers for wished readings.
pub fn balance(
    plan: Arc<Plan>,
    options: BalanceOptions,
    wake: impl Fn() + Send + Sync + 'static,
) -> Job {
    Job::start("Balance".into(), wake, move |progress| {
        let (plan, balanced) = shoot::balance::balance(&plan, &options, progress)?;
        Ok(Outcome::Balanced(Arc::new(plan), Arc::new(balanced)))
    })
}

/// Starts to look for what will go wrong on the day.
pub fn check(plan: Arc<Plan>, wake: impl Fn() + Send + Sync + 'static) -> Job {
    Job::start("Check".into(), wake, move |progress| {
        progress(Progress { done: 0.0, step: "checking" });
        Ok(Outcome::Notes(Arc::new(shoot::notes(&plan))))
    })
}
