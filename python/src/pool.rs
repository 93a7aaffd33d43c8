//! One thread pool per process and thread count.
//!
//! rayon's global pool does not survive `fork`: a child made by the default start method of `multiprocessing` on Linux
//! would hang at its first parallel call. The pool kept here remembers the process that built it; in a new process a new
//! one is built and the old one, whose threads do not exist there, is forgotten rather than dropped.

use crate::errors::BindingError;
use pyo3::prelude::*;
use rayon::{ThreadPool, ThreadPoolBuilder};
use std::mem;
use std::num::NonZeroUsize;
use std::process;
use std::sync::{Arc, Mutex, PoisonError};

struct Kept {
    pid: u32,
    threads: Option<NonZeroUsize>,
    pool: Arc<ThreadPool>,
}

static KEPT: Mutex<Option<Kept>> = Mutex::new(None);

/// The pool of this process with that many threads; `None` means one per core.
pub fn pool(threads: Option<NonZeroUsize>) -> PyResult<Arc<ThreadPool>> {
    let pid = process::id();
    let mut kept = KEPT.lock().unwrap_or_else(PoisonError::into_inner);
    if let Some(found) = kept.as_ref().filter(|found| found.pid == pid && found.threads == threads) {
        return Ok(Arc::clone(&found.pool));
    }
    let pool = ThreadPoolBuilder::new()
        .num_threads(threads.map_or(0, NonZeroUsize::get))
        .thread_name(|index| format!("underturf-{index}"))
        .build()
        .map(Arc::new)
        .map_err(BindingError::Threads)?;
    if let Some(old) = kept.replace(Kept { pid, threads, pool: Arc::clone(&pool) })
        && old.pid != pid
    {
        mem::forget(old);
    }
    Ok(pool)
}
