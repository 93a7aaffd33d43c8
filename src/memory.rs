//! Memory: what a call would need is worked out before it begins, and refused where it passes the limit.
//!
//! The limit is what the caller allows ([`Monitor::memory_limit`]), else half of what is free. It decides whether a call is
//! refused and nothing else. Estimates are within a factor of two of the peak as measured (`tests/laws/memory.rs`).

use crate::error::{Error, MemoryUse};
use crate::monitor::Monitor;

/// Share of what is free that a call may take where nothing is said.
const SHARE: f64 = 0.5;

/// Taken to be free where the system does not tell, bytes. Common practice, no source: what a small machine has to spare.
const UNTOLD: u64 = 4_000_000_000;

/// Bytes that may be used.
pub fn limit(monitor: &dyn Monitor) -> u64 {
    monitor.memory_limit().unwrap_or_else(|| (SHARE * free().unwrap_or(UNTOLD) as f64) as u64)
}

/// Refuses `asked` things of `each` bytes, with `beside` bytes whatever their number, where they pass the limit.
///
/// # Errors
/// [`Error::TooMuchMemory`] with the number that fits.
pub fn check(
    monitor: &dyn Monitor,
    used: MemoryUse,
    asked: usize,
    each: usize,
    beside: usize,
) -> Result<(), Error> {
    let limit = limit(monitor);
    let bytes = beside as f64 + asked as f64 * each as f64;
    if bytes <= limit as f64 {
        return Ok(());
    }
    let fit = ((limit as f64 - beside as f64) / each.max(1) as f64).max(0.0) as usize;
    Err(Error::TooMuchMemory { used, asked, bytes, fit, limit })
}

/// Bytes that this process may still take, as the system tells: what is available, and no more than its group may have. `None`
/// where there is no `/proc`.
fn free() -> Option<u64> {
    let told = std::fs::read_to_string("/proc/meminfo").ok()?;
    let line = told.lines().find(|line| line.starts_with("MemAvailable:"))?;
    let available = line.split_whitespace().nth(1)?.parse::<u64>().ok()? * 1024;
    let number = |path: &str| std::fs::read_to_string(path).ok()?.trim().parse::<u64>().ok();
    let of_group = |most: &str, taken: &str| Some(number(most)?.saturating_sub(number(taken)?));
    let group = of_group("/sys/fs/cgroup/memory.max", "/sys/fs/cgroup/memory.current").or_else(|| {
        of_group("/sys/fs/cgroup/memory/memory.limit_in_bytes", "/sys/fs/cgroup/memory/memory.usage_in_bytes")
    });
    Some(group.map_or(available, |group| group.min(available)))
}
