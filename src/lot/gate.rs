//! Memory kept within bounds: so many pixels in work at once, and no more.

use std::sync::{Condvar, Mutex, PoisonError};

/// Memory in use while a photograph is measured, bytes a pixel. Measured: 58 with the whole program at
/// 12 megapixels (`benches/lot.py` prints it), nearly doubled for photographs with more to find in them.
pub const BYTES_PER_PX: u64 = 100;

/// Lets photographs in while the pixels in work stay within a budget. One that is larger than the
/// whole budget is let in alone.
#[derive(Debug)]
pub struct Gate {
    budget_px: u64,
    in_work_px: Mutex<u64>,
    left: Condvar,
}

/// A photograph in work; gives its pixels back when dropped.
#[derive(Debug)]
pub struct Permit<'a> {
    gate: &'a Gate,
    px: u64,
}

impl Gate {
    /// A gate that keeps measuring within about `megabytes`.
    #[must_use]
    pub fn new(megabytes: u64) -> Self {
        Self {
            budget_px: (megabytes.saturating_mul(1_000_000) / BYTES_PER_PX).max(1),
            in_work_px: Mutex::new(0),
            left: Condvar::new(),
        }
    }

    /// Waits until the photograph may be taken in. A thread holds one permit at a time, so none
    /// can wait for another for ever.
    #[must_use]
    pub fn enter(&self, px: u64) -> Permit<'_> {
        let px = px.min(self.budget_px);
        let mut in_work = self
            .in_work_px
            .lock()
            .unwrap_or_else(PoisonError::into_inner);
        while *in_work + px > self.budget_px {
            in_work = self
                .left
                .wait(in_work)
                .unwrap_or_else(PoisonError::into_inner);
        }
        *in_work += px;
        Permit { gate: self, px }
    }
}

impl Drop for Permit<'_> {
    fn drop(&mut self) {
        let mut in_work = self
            .gate
            .in_work_px
            .lock()
            .unwrap_or_else(PoisonError::into_inner);
        *in_work -= self.px;
        self.gate.left.notify_all();
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::sync::atomic::{AtomicU64, Ordering};

    #[test]
    fn two_that_are_too_much_together_go_one_after_the_other() {
        use std::sync::mpsc;
        use std::time::Duration;
        // 10⁶ px; each of the two fits by itself.
        let gate = Gate::new(100);
        let first = gate.enter(600_000);
        let (inside, entered) = mpsc::channel();
        std::thread::scope(|scope| {
            let gate = &gate;
            scope.spawn(move || {
                let _second = gate.enter(500_000);
                inside.send(()).unwrap();
            });
            let waits = entered.recv_timeout(Duration::from_millis(200));
            assert_eq!(waits, Err(mpsc::RecvTimeoutError::Timeout));
            // One that fits beside the first need not wait for the second.
            drop(gate.enter(400_000));
            drop(first);
            assert_eq!(entered.recv_timeout(Duration::from_secs(60)), Ok(()));
        });
        assert_eq!(*gate.in_work_px.lock().unwrap(), 0);
    }

    #[test]
    fn no_more_than_the_budget_is_in_work() {
        let gate = Gate::new(100);
        let (now, most) = (AtomicU64::new(0), AtomicU64::new(0));
        std::thread::scope(|scope| {
            for thread in 0..6u64 {
                let (gate, now, most) = (&gate, &now, &most);
                scope.spawn(move || {
                    for round in 0..40 {
                        // Some are over the whole budget of 10⁶ px.
                        let px = 150_000 + 300_000 * ((thread + round) % 5);
                        let permit = gate.enter(px);
                        let inside = now.fetch_add(permit.px, Ordering::SeqCst) + permit.px;
                        most.fetch_max(inside, Ordering::SeqCst);
                        std::thread::yield_now();
                        now.fetch_sub(permit.px, Ordering::SeqCst);
                    }
                });
            }
        });
        let most = most.load(Ordering::SeqCst);
        assert!((600_000..=1_000_000).contains(&most), "{most}");
    }
}
