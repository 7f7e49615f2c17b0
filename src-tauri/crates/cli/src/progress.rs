//! Progress on standard error for what takes longer than half a second.

use std::{
    io::{self, IsTerminal},
    ops::ControlFlow,
    sync::{
        Arc,
        atomic::{AtomicU64, Ordering},
        mpsc::{self, RecvTimeoutError, Sender},
    },
    thread::{self, JoinHandle},
    time::Duration,
};

use engine::Progress;
use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};

const PATIENCE: Duration = Duration::from_millis(500);
const TICK: Duration = Duration::from_millis(100);

/// A line that shows that something goes on, gone when this is dropped.
#[derive(Debug)]
pub(crate) struct Waiting {
    count: Arc<Count>,
    running: Option<(Sender<()>, JoinHandle<()>)>,
}

#[derive(Debug, Default)]
struct Count {
    done: AtomicU64,
    total: AtomicU64,
}

impl Waiting {
    /// Starts to wait; nothing is shown without a terminal.
    pub(crate) fn start(what: &'static str, wanted: bool) -> Self {
        let count = Arc::new(Count::default());
        let shown = wanted && io::stderr().is_terminal();
        let running = shown.then(|| {
            let (stop, stopped) = mpsc::channel();
            let count = Arc::clone(&count);
            let thread = thread::spawn(move || {
                // Anything but a time-out means that the work is done.
                let is_busy =
                    |time| stopped.recv_timeout(time) == Err::<(), _>(RecvTimeoutError::Timeout);
                if !is_busy(PATIENCE) {
                    return;
                }
                let bar = bar(what, count.total.load(Ordering::Relaxed) > 0);
                while is_busy(TICK) {
                    bar.set_length(count.total.load(Ordering::Relaxed));
                    bar.set_position(count.done.load(Ordering::Relaxed));
                    bar.tick();
                }
                bar.finish_and_clear();
            });
            (stop, thread)
        });
        Waiting { count, running }
    }

    /// Shows how far it has come, and lets it go on: at a terminal work is ended by ending the program.
    pub(crate) fn watch(&self, it: &Progress) -> ControlFlow<()> {
        let number = |it: usize| u64::try_from(it).unwrap_or(u64::MAX);
        self.count.total.store(number(it.total), Ordering::Relaxed);
        self.count.done.store(number(it.done), Ordering::Relaxed);
        ControlFlow::Continue(())
    }
}

impl Drop for Waiting {
    fn drop(&mut self) {
        if let Some((stop, thread)) = self.running.take() {
            drop(stop);
            // A line that could not be drawn is no reason to fail.
            let _ = thread.join();
        }
    }
}

/// A count is shown only where there is one.
fn bar(what: &'static str, has_count: bool) -> ProgressBar {
    let bar = ProgressBar::with_draw_target(Some(0), ProgressDrawTarget::stderr());
    let template = if has_count {
        "{spinner} {msg} {pos} of {len}, {elapsed}"
    } else {
        "{spinner} {msg}, {elapsed}"
    };
    if let Ok(style) = ProgressStyle::with_template(template) {
        bar.set_style(style);
    }
    bar.set_message(what);
    bar
}
