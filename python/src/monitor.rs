//! Long calls: work on the pool, watch on the calling thread.
//!
//! Python delivers signals to its main thread only, and only when that thread asks. So the calling thread never works: it
//! sleeps without the interpreter, wakes every [`WATCH`], asks for signals and reports progress, and tells the workers
//! to stop when either raised. The engine asks [`Relay`] between its batches whether to go on.

use crate::guard::caught;
use crate::pool::pool;
use pyo3::prelude::*;
use std::cell::Cell;
use std::num::NonZeroUsize;
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};
use std::sync::mpsc::{RecvTimeoutError, channel};
use std::time::Duration;
use underturf::monitor::Monitor;

/// How often signals are asked for: far below the 0.2 s within which Ctrl-C has to work.
const WATCH: Duration = Duration::from_millis(25);

/// How long calls run: on how many threads, and who hears of their progress.
pub struct Run {
    /// Worker threads; `None` means one per core.
    pub threads: Option<NonZeroUsize>,
    /// Called as `progress(done, total)` on the calling thread; an exception it raises stops the run.
    pub progress: Option<Py<PyAny>>,
}

/// What the workers tell and are told.
#[derive(Default)]
pub struct Relay {
    stop: AtomicBool,
    done: AtomicUsize,
    total: AtomicUsize,
    memory_limit: Option<u64>,
}

thread_local! {
    /// Bytes that calls made by this thread may take; none: half of what is free.
    static MEMORY_LIMIT: Cell<Option<u64>> = const { Cell::new(None) };
}

/// Sets how many bytes calls made by this thread may take, and returns what was set before; None stands for half of what is
/// free.
#[pyfunction]
#[pyo3(signature = (limit))]
pub fn set_memory_limit(limit: Option<u64>) -> Option<u64> {
    MEMORY_LIMIT.replace(limit)
}

impl Monitor for Relay {
    fn tick(&self, done: usize, total: usize) -> bool {
        self.total.store(total, Ordering::Relaxed);
        self.done.store(done, Ordering::Relaxed);
        !self.stop.load(Ordering::Relaxed)
    }

    fn memory_limit(&self) -> Option<u64> {
        self.memory_limit
    }
}

impl Relay {
    /// Asks Python for signals and hands it the progress.
    fn watch(&self, py: Python<'_>, progress: Option<&Py<PyAny>>) -> PyResult<()> {
        py.check_signals()?;
        if let Some(progress) = progress {
            progress.call1(py, (self.done.load(Ordering::Relaxed), self.total.load(Ordering::Relaxed)))?;
        }
        Ok(())
    }
}

impl Run {
    /// Runs `work` on the pool with the interpreter released.
    ///
    /// # Errors
    /// What the work raised; a panic of it; `KeyboardInterrupt` or what another signal handler raised; what
    /// the progress callback raised.
    pub fn run<T, E>(self, py: Python<'_>, work: impl FnOnce(&Relay) -> Result<T, E> + Send) -> PyResult<T>
    where
        T: Send,
        E: Into<PyErr> + Send,
    {
        let pool = pool(self.threads)?;
        let relay = Relay { memory_limit: MEMORY_LIMIT.get(), ..Relay::default() };
        let progress = self.progress.as_ref();
        let (outcome, raised) = py.detach(|| {
            let mut outcome = None;
            let mut raised = None;
            let (finished, wait) = channel::<()>();
            pool.in_place_scope(|scope| {
                let (outcome, relay) = (&mut outcome, &relay);
                scope.spawn(move |_| {
                    *outcome = Some(caught(|| work(relay)));
                    drop(finished);
                });
                while let Err(RecvTimeoutError::Timeout) = wait.recv_timeout(WATCH) {
                    if raised.is_none()
                        && let Err(error) = Python::attach(|py| relay.watch(py, progress))
                    {
                        relay.stop.store(true, Ordering::Relaxed);
                        raised = Some(error);
                    }
                }
            });
            (outcome, raised)
        });
        if let Some(error) = raised {
            return Err(error);
        }
        let value =
            outcome.expect("the scope ends only after its work has left an outcome")?.map_err(Into::into)?;
        relay.watch(py, progress)?;
        Ok(value)
    }
}
