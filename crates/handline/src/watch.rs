//! A long question: how far it is, on a terminal, and stopped by Ctrl-C.

use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};
use std::io::IsTerminal;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use study::choose::Watch;

/// Shows a line on standard error where that is a terminal, and nothing elsewhere.
pub struct Watcher {
    bar: ProgressBar,
    stopped: Arc<AtomicBool>,
}

impl Watcher {
    /// One that Ctrl-C stops.
    pub fn new() -> Self {
        let target = match std::io::stderr().is_terminal() {
            true => ProgressDrawTarget::stderr_with_hz(5),
            false => ProgressDrawTarget::hidden(),
        };
        let bar = ProgressBar::with_draw_target(Some(1), target);
        let plain = "{msg}: {human_pos} of {human_len} {wide_bar} {eta} left";
        if let Ok(style) = ProgressStyle::with_template(plain) {
            bar.set_style(style);
        }
        let stopped = Arc::new(AtomicBool::new(false));
        stop_by_key(stopped.clone());
        Watcher { bar, stopped }
    }

    /// Takes the line away again.
    pub fn done(&self) {
        self.bar.finish_and_clear();
    }
}

/// Sets `stopped` when Ctrl-C is pressed. Pressed again it ends the program at once.
fn stop_by_key(stopped: Arc<AtomicBool>) {
    let wait = move || {
        let runtime = tokio::runtime::Builder::new_current_thread()
            .enable_all()
            .build();
        let Ok(runtime) = runtime else { return };
        runtime.block_on(async {
            while tokio::signal::ctrl_c().await.is_ok() {
                if stopped.swap(true, Ordering::Relaxed) {
                    std::process::exit(3);
                }
            }
        });
    };
    std::thread::spawn(wait);
}

impl Watch for Watcher {
    fn progress(&self, what: &'static str, done: u64, all: u64) {
        if self.bar.is_hidden() {
            return;
        }
        if self.bar.message() != what {
            self.bar.set_message(what);
            self.bar.reset();
        }
        self.bar.set_length(all);
        // What comes late from another thread does not take it back.
        if done > self.bar.position() || done == 0 {
            self.bar.set_position(done);
        }
    }

    fn is_stopped(&self) -> bool {
        self.stopped.load(Ordering::Relaxed)
    }
}
