//! Comparisons worked out beside other pages: so many at a time, each for as long as
//! somebody waits for it.

use crate::fault::Fault;
use crate::paper::beside;
use crate::workbench::{Opened, Workbench};
use book::comparison::Comparison;
use book::{Book, Stated};
use hydraulics::units::{Kind, System};
use std::collections::VecDeque;
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::time::{Duration, Instant};
use study::choose::{ChooseError, Chosen, Size, Watch, choose, size, trial};
use study::doubt::of_choices;
use tokio::sync::Semaphore;
use tokio::task::JoinHandle;

/// What came of a comparison.
pub(super) type Found = Result<Arc<Chosen>, ChooseError>;

/// Comparisons that are worked out at the same time: each uses all processors.
const AT_ONCE: usize = 2;

/// Draws of one line a second that are reckoned with.
const DRAWS: f64 = 200_000.0;

/// What takes longer is asked about first.
const SHORT: Duration = Duration::from_secs(1);

/// What the workbench knows about comparisons under way.
#[derive(Debug)]
pub(crate) struct Comparing {
    turns: Arc<Semaphore>,
    waiting: Arc<AtomicUsize>,
}

impl Default for Comparing {
    fn default() -> Self {
        Comparing {
            turns: Arc::new(Semaphore::new(AT_ONCE)),
            waiting: Arc::default(),
        }
    }
}

/// How large a comparison is, and how long it takes.
#[derive(Debug, Clone, Copy)]
pub(super) struct Reckoned {
    pub size: Size,
    pub time: Duration,
}

impl Reckoned {
    /// Solves a little of it, and reckons from that. `Err` when it cannot be asked at all.
    pub async fn of(
        opened: &Arc<Opened>,
        comparison: &Comparison,
    ) -> Result<Result<Self, ChooseError>, Fault> {
        let (opened, comparison) = (opened.clone(), comparison.clone());
        beside(move || -> Result<Self, ChooseError> {
            let size = size(&opened.book, &comparison)?;
            let began = Instant::now();
            let tried = trial(&opened.book, &comparison)?;
            let lines = comparison.lines.len() as u64;
            let time = whole(&size, lines, (tried, began.elapsed()));
            Ok(Reckoned { size, time })
        })
        .await
    }

    /// Is it asked about before it starts?
    pub fn is_long(&self) -> bool {
        self.time > SHORT
    }
}

/// The time for all of `size` on so many lines when `tried` of its points took `took`.
fn whole(size: &Size, lines: u64, (tried, took): (u64, Duration)) -> Duration {
    #[expect(
        clippy::cast_precision_loss,
        reason = "an estimate; nobody counts beyond 2^53"
    )]
    let [points, tried, draws, lines] =
        [size.points, tried.max(1), size.draws, lines].map(|number| number as f64);
    let seconds = took.as_secs_f64() * points / tried + draws * lines / DRAWS;
    Duration::from_secs_f64(seconds.clamp(0.0, 1e7))
}

/// What was found by one revision of a book, the last ones.
#[derive(Debug, Default)]
pub(crate) struct Compared(Mutex<VecDeque<(String, Arc<Chosen>)>>);

/// Answers that are kept for a book.
const KEPT: usize = 8;

impl Compared {
    /// What was found for `comparison`, whatever its weights were then, ranked by those
    /// that it has.
    pub fn of(&self, opened: &Opened, comparison: &Comparison) -> Option<Arc<Chosen>> {
        let key = key(comparison);
        let found = {
            let kept = lock(&self.0);
            let found = kept.iter().find(|(of, _)| *of == key);
            found.map(|(_, chosen)| chosen.clone())?
        };
        Some(Arc::new(found.ranked_by(&opened.book, comparison)))
    }

    fn keep(&self, comparison: &Comparison, chosen: Arc<Chosen>) {
        let mut kept = lock(&self.0);
        if kept.len() >= KEPT {
            kept.pop_front();
        }
        kept.push_back((key(comparison), chosen));
    }
}

/// All that the work depends on: the comparison without how much each aim counts, but for
/// whether it counts at all.
fn key(comparison: &Comparison) -> String {
    let mut plain = comparison.clone();
    for wanted in plain.aims.values_mut() {
        let counts = if wanted.weight.get().value > 0.0 {
            "1"
        } else {
            "0"
        };
        if let Ok(counts) = Stated::read(Kind::Share, counts, System::Us) {
            wanted.weight = counts;
        }
    }
    format!("{plain:?}")
}

fn lock<T>(of: &Mutex<T>) -> MutexGuard<'_, T> {
    of.lock().unwrap_or_else(PoisonError::into_inner)
}

/// How far a comparison has come.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Progress {
    /// So many wait before it.
    Waiting(usize),
    /// So many steps are done, of so many.
    Doing(&'static str, u64, u64),
}

/// What the work tells, and whether it is still wanted.
#[derive(Debug)]
struct Seen {
    stopped: AtomicBool,
    progress: Mutex<Progress>,
}

impl Watch for Seen {
    fn progress(&self, what: &'static str, done: u64, all: u64) {
        let mut progress = lock(&self.progress);
        // Words come from several threads, and not in order.
        match *progress {
            Progress::Doing(known, further, _) if known == what && further > done => {}
            _ => *progress = Progress::Doing(what, done, all),
        }
    }

    fn is_stopped(&self) -> bool {
        self.stopped.load(Ordering::Relaxed)
    }
}

/// A comparison under way; dropped, it stops.
pub(super) struct Work {
    seen: Arc<Seen>,
    pub done: JoinHandle<Result<Found, Fault>>,
}

impl Drop for Work {
    fn drop(&mut self) {
        self.seen.stopped.store(true, Ordering::Relaxed);
        // One that still waits for its turn gives it up.
        self.done.abort();
    }
}

/// Why a comparison came to no end.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Unfinished {
    /// The time that it had.
    pub after: Duration,
    /// It only waited for others.
    pub waited: bool,
}

impl Unfinished {
    /// What happened, and what would help.
    pub fn words(self) -> String {
        let seconds = self.after.as_secs();
        match self.waited {
            true => format!(
                "Other comparisons were worked out first, and after {seconds} s this one had not \
                 begun. Try again."
            ),
            false => format!(
                "After {seconds} s the comparison was stopped: it takes longer than a page can wait. \
                 Take larger steps, fewer hoses and nozzles, fewer cases or fewer days; or ask it \
                 on the command line."
            ),
        }
    }
}

impl Work {
    /// Begins it, or lets it wait for its turn.
    pub fn begin(workbench: &Workbench, opened: &Arc<Opened>, comparison: &Comparison) -> Self {
        let comparing = &workbench.comparing;
        let before = comparing.waiting.load(Ordering::Relaxed);
        let seen = Arc::new(Seen {
            stopped: AtomicBool::new(false),
            progress: Mutex::new(Progress::Waiting(before)),
        });
        let done = tokio::spawn(worked(
            (comparing.turns.clone(), comparing.waiting.clone()),
            opened.clone(),
            comparison.clone(),
            seen.clone(),
        ));
        Work { seen, done }
    }

    /// How far it has come.
    pub fn progress(&self) -> Progress {
        *lock(&self.seen.progress)
    }

    /// What came of it within `limit`.
    pub async fn within(mut self, limit: Duration) -> Result<Result<Found, Unfinished>, Fault> {
        match tokio::time::timeout(limit, &mut self.done).await {
            Ok(Ok(found)) => found.map(Ok),
            Ok(Err(stopped)) => Err(Fault::Stopped(stopped.to_string())),
            Err(_) => Ok(Err(Unfinished {
                after: limit,
                waited: matches!(self.progress(), Progress::Waiting(_)),
            })),
        }
    }
}

/// Counts one that waits.
struct Waiting(Arc<AtomicUsize>);

impl Waiting {
    fn new(of: Arc<AtomicUsize>) -> Self {
        of.fetch_add(1, Ordering::Relaxed);
        Waiting(of)
    }
}

impl Drop for Waiting {
    fn drop(&mut self) {
        self.0.fetch_sub(1, Ordering::Relaxed);
    }
}

async fn worked(
    (turns, waiting): (Arc<Semaphore>, Arc<AtomicUsize>),
    opened: Arc<Opened>,
    comparison: Comparison,
    seen: Arc<Seen>,
) -> Result<Found, Fault> {
    let waits = Waiting::new(waiting);
    let turn = turns.acquire_owned().await;
    drop(waits);
    let turn = turn.map_err(|closed| Fault::Stopped(closed.to_string()))?;
    let work = move || -> Found {
        // It keeps its turn until it has truly ended, wanted or not.
        let _turn = turn;
        seen.progress("choices tried", 0, 0);
        let chosen = Arc::new(answered(&opened.book, &comparison, seen.as_ref())?);
        opened.compared.keep(&comparison, chosen.clone());
        Ok(chosen)
    };
    let done = tokio::task::spawn_blocking(work).await;
    done.map_err(|stopped| Fault::Stopped(stopped.to_string()))
}

/// The choices, and days drawn for the first of them.
fn answered(
    book: &Book,
    comparison: &Comparison,
    watch: &dyn Watch,
) -> Result<Chosen, ChooseError> {
    let mut chosen = choose(book, comparison, watch)?;
    // Drawn for already?
    if chosen.choices.iter().all(|choice| choice.doubted.is_none()) {
        chosen.robust = of_choices(book, comparison, &mut chosen.choices, watch)?;
    }
    Ok(chosen)
}

#[cfg(test)]
mod tests {
    use super::*;
    use book::comparison::{AimKind, Wanted};

    #[test]
    fn the_whole_is_reckoned_from_what_was_tried() {
        let size = Size {
            choices: 1,
            points: 10_000,
            draws: 200_000,
        };
        let time = whole(&size, 2, (1000, Duration::from_millis(100)));
        assert_eq!(time, Duration::from_secs(3));
        assert!(Reckoned { size, time }.is_long());
        assert!(whole(&Size { draws: 0, ..size }, 1, (0, Duration::ZERO)).is_zero());
    }

    #[test]
    fn weights_do_not_ask_for_new_work_and_all_else_does() {
        let weighed = |weight: &str| {
            let mut comparison = Comparison::default();
            let weight = Stated::read(Kind::Share, weight, System::Us);
            let wanted = weight.map(|weight| Wanted { weight, near: None });
            comparison
                .aims
                .extend(wanted.ok().map(|w| (AimKind::Flow, w)));
            comparison
        };
        assert_eq!(key(&weighed("1")), key(&weighed("7")));
        // What does not count beats nothing.
        assert_ne!(key(&weighed("1")), key(&weighed("0")));
        let mut other = weighed("1");
        other.lines.push("left".into());
        assert_ne!(key(&weighed("1")), key(&other));
    }

    #[test]
    fn progress_does_not_go_back() {
        let seen = Seen {
            stopped: AtomicBool::new(false),
            progress: Mutex::new(Progress::Waiting(0)),
        };
        seen.progress("choices tried", 5, 10);
        seen.progress("choices tried", 3, 10);
        assert_eq!(
            *lock(&seen.progress),
            Progress::Doing("choices tried", 5, 10)
        );
        seen.progress("days drawn", 1, 10);
        assert_eq!(*lock(&seen.progress), Progress::Doing("days drawn", 1, 10));
    }
}
