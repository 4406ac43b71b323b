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

/// A line on stderr that counts what is done, with the rate and the time left; gone when the work is done.
pub struct Count(ProgressBar);

impl Count {
    /// A count up to `all`.
    pub fn new(all: usize, quiet: bool) -> Count {
        let target = if quiet { ProgressDrawTarget::hidden() } else { ProgressDrawTarget::stderr() };
        let bar = ProgressBar::with_draw_target(Some(all as u64), target);
        let template = "{bar:20} {pos} of {len}, {per_sec}, {eta} left";
        if let Ok(style) = ProgressStyle::with_template(template) {
            bar.set_style(style);
        }
        Count(bar)
    }

    /// One more is done; what was done before this run tells nothing of the rate.
    pub fn one(&self, before_this_run: bool) {
        self.0.inc(1);
        if before_this_run {
            self.0.reset_eta();
        }
    }
}

impl Drop for Count {
    fn drop(&mut self) {
        self.0.finish_and_clear();
    }
}

impl Drop for Progress {
    fn drop(&mut self) {
        self.0.finish_and_clear();
    }
}
