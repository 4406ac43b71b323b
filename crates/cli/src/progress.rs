//! Shows on a terminal what is being done; silent in a pipe and with `--quiet`.

use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};
use std::time::Duration;

/// A line on stderr that is gone when the work is done.
pub struct Progress(ProgressBar);

impl Progress {
    /// A line that names the step.
    pub fn new(quiet: bool) -> Progress {
        // The default target draws on stderr, and only if that is a terminal.
        let target = if quiet { ProgressDrawTarget::hidden() } else { ProgressDrawTarget::stderr() };
        let bar = ProgressBar::with_draw_target(None, target);
        if let Ok(style) = ProgressStyle::with_template("{spinner} {msg}") {
            bar.set_style(style);
        }
        bar.enable_steady_tick(Duration::from_millis(100));
        Progress(bar)
    }

    /// What is being done now.
    pub fn step(&self, what: &str) {
        self.0.set_message(what.to_owned());
    }
}

impl Drop for Progress {
    fn drop(&mut self) {
        self.0.finish_and_clear();
    }
}
