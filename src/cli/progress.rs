//! A progress bar on a terminal; silence anywhere else, but for notes.

use std::io::{self, IsTerminal};

use indicatif::{ProgressBar, ProgressStyle};

use crate::shoot::Progress;

/// Steps of the bar.
const STEPS: u64 = 1000;

/// A bar on standard error.
pub(super) struct Bar {
    bar: ProgressBar,
    quiet: bool,
}

impl Bar {
    pub(super) fn new(quiet: bool) -> Self {
        if quiet || !io::stderr().is_terminal() {
            return Self { bar: ProgressBar::hidden(), quiet };
        }
        let bar = ProgressBar::new(STEPS);
        // the template is fixed and valid; a plain bar is as good
        if let Ok(style) = ProgressStyle::with_template("{msg:12} {wide_bar} {percent:>3} % {eta}")
        {
            bar.set_style(style);
        }
        Self { bar, quiet }
    }

    /// What rendering calls as it goes.
    pub(super) fn report(&self, progress: Progress) {
        if progress.step.starts_with("note: ") {
            if !self.quiet {
                self.bar.suspend(|| eprintln!("{}", progress.step));
            }
            return;
        }
        self.bar.set_message(progress.step);
        self.bar.set_position((progress.done.clamp(0.0, 1.0) * STEPS as f64) as u64);
    }
}

impl Drop for Bar {
    /// The bar goes away also when the work failed, so that the error stands alone.
    fn drop(&mut self) {
        self.bar.finish_and_clear();
    }
}
