//! Many sheets at once.

use super::record::Record;
use super::sheet::{self, Bench};
use super::task::Task;
use rayon::ThreadPoolBuilder;
use std::sync::Mutex;
use std::sync::PoisonError;
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};

/// Why a run ended early.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum RunError {
    /// A thread could not be started.
    #[error("no thread can be started ({0}); ask for fewer with --threads")]
    NoThread(String),
    /// A finished sheet could not be kept.
    #[error(transparent)]
    NotKept(#[from] std::io::Error),
}

/// Examines the sheets, `threads` at a time, and hands each record to `keep` as it is finished.
///
/// Each thread measures one photograph at a time by itself: sheets are many, so nothing is won by
/// sharing the work on one, and memory is bounded by the number of threads. Once `stop` is set no
/// further sheet is begun; those in work are finished.
///
/// # Errors
/// [`RunError`]; what was kept before stays kept.
pub fn run(
    tasks: &[Task],
    bench: &Bench<'_>,
    threads: usize,
    stop: &AtomicBool,
    keep: impl FnMut(&Task, Record) -> std::io::Result<()> + Send,
) -> Result<(), RunError> {
    let keep = Mutex::new(keep);
    on_threads(tasks, threads, stop, |task| {
        let record = sheet::examine(task, bench)?;
        let mut keep = keep.lock().unwrap_or_else(PoisonError::into_inner);
        Ok(keep(task, record)?)
    })
}

/// Does one job an item, `threads` at a time, each job on one thread alone: a thread that waits for
/// memory must not be one that another job's work is shared with.
///
/// # Errors
/// The first of any job; no further item is then begun.
pub(super) fn on_threads<T: Sync>(
    items: &[T],
    threads: usize,
    stop: &AtomicBool,
    job: impl Fn(&T) -> Result<(), RunError> + Sync,
) -> Result<(), RunError> {
    let next = AtomicUsize::new(0);
    let failed = Mutex::new(None);
    let work = || {
        if let Err(error) = one_thread(items, &next, stop, &job) {
            stop.store(true, Ordering::SeqCst);
            let mut failed = failed.lock().unwrap_or_else(PoisonError::into_inner);
            failed.get_or_insert(error);
        }
    };
    std::thread::scope(|scope| {
        for _ in 0..threads.clamp(1, items.len().max(1)) {
            scope.spawn(work);
        }
    });
    let failed = failed.into_inner().unwrap_or_else(PoisonError::into_inner);
    failed.map_or(Ok(()), Err)
}

fn one_thread<T: Sync>(
    items: &[T],
    next: &AtomicUsize,
    stop: &AtomicBool,
    job: &(impl Fn(&T) -> Result<(), RunError> + Sync),
) -> Result<(), RunError> {
    let alone = ThreadPoolBuilder::new()
        .num_threads(1)
        .build()
        .map_err(|e| RunError::NoThread(e.to_string()))?;
    while !stop.load(Ordering::SeqCst) {
        let Some(item) = items.get(next.fetch_add(1, Ordering::SeqCst)) else {
            break;
        };
        alone.install(|| job(item))?;
    }
    Ok(())
}
