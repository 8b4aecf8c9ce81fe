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
    let next = AtomicUsize::new(0);
    let (keep, failed) = (Mutex::new(keep), Mutex::new(None));
    let work = || {
        let outcome = one_thread(tasks, bench, &next, stop, &keep);
        if let Err(error) = outcome {
            stop.store(true, Ordering::SeqCst);
            let mut failed = failed.lock().unwrap_or_else(PoisonError::into_inner);
            failed.get_or_insert(error);
        }
    };
    std::thread::scope(|scope| {
        for _ in 0..threads.clamp(1, tasks.len().max(1)) {
            scope.spawn(work);
        }
    });
    let failed = failed.into_inner().unwrap_or_else(PoisonError::into_inner);
    failed.map_or(Ok(()), Err)
}

fn one_thread<K>(
    tasks: &[Task],
    bench: &Bench<'_>,
    next: &AtomicUsize,
    stop: &AtomicBool,
    keep: &Mutex<K>,
) -> Result<(), RunError>
where
    K: FnMut(&Task, Record) -> std::io::Result<()> + Send,
{
    let alone = ThreadPoolBuilder::new()
        .num_threads(1)
        .build()
        .map_err(|e| RunError::NoThread(e.to_string()))?;
    while !stop.load(Ordering::SeqCst) {
        let Some(task) = tasks.get(next.fetch_add(1, Ordering::SeqCst)) else {
            break;
        };
        let record = alone.install(|| sheet::examine(task, bench))?;
        let mut keep = keep.lock().unwrap_or_else(PoisonError::into_inner);
        keep(task, record)?;
    }
    Ok(())
}
