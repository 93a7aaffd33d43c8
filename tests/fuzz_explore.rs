#[path = "mutator/mod.rs"]
#[allow(dead_code)]
mod mutator;
use mutator::*;
use std::panic::{catch_unwind, AssertUnwindSafe};
use std::sync::atomic::{AtomicU64, Ordering};
use std::sync::Arc;
use std::time::{Duration, Instant};
use underturf::monitor::Monitor;
#[global_allocator]
static ALLOCATOR: mimalloc::MiMalloc = mimalloc::MiMalloc;
struct Deadline(Instant);
impl Monitor for Deadline { fn tick(&self, _: usize, _: usize) -> bool { Instant::now() < self.0 } }
fn env(name: &str, or: u64) -> u64 { std::env::var(name).ok().and_then(|v| v.parse().ok()).unwrap_or(or) }
fn peak() -> u64 { std::fs::read_to_string("/proc/self/status").unwrap().lines().find(|l| l.starts_with("VmHWM")).unwrap().split_whitespace().nth(1).unwrap().parse().unwrap() }
#[test]
fn explore() {
    let (from, count, limit, hostile) = (env("FROM", 0), env("COUNT", 100), env("LIMIT", 20), env("HOSTILE", 1));
    rayon::ThreadPoolBuilder::new().num_threads(env("THREADS",1) as usize).build_global().unwrap();
    std::panic::set_hook(Box::new(|_| {}));
    let now = Arc::new((AtomicU64::new(from), AtomicU64::new(0)));
    let began = Instant::now();
    let watch = now.clone();
    std::thread::spawn(move || loop {
        std::thread::sleep(Duration::from_millis(500));
        let since = watch.1.load(Ordering::Relaxed);
        if since > 0 && began.elapsed().as_secs() > since + 3 * limit {
            println!("HUNG {}", watch.0.load(Ordering::Relaxed));
            std::process::exit(9);
        }
    });
    let (mut read, mut refused, mut answered) = (0, 0, 0);
    for seed in from..from + count {
        now.0.store(seed, Ordering::Relaxed);
        now.1.store(began.elapsed().as_secs() + 1, Ordering::Relaxed);
        let start = Instant::now();
        let _ = std::fs::write("/proc/self/clear_refs", "5");
        let document = if hostile == 1 { Document::hostile(seed) } else { Document::of(seed) };
        let mut stage = "read";
        let outcome = catch_unwind(AssertUnwindSafe(|| {
            let site = document.read().map_err(|e| format!("refused {}", e.to_string().lines().take(3).collect::<Vec<_>>().join("|")))?;
            read += 1;
            let deadline = Deadline(Instant::now() + Duration::from_secs(limit));
            stage = "sample";
            let layouts = answer::layouts(site, &deadline).map_err(|e| format!("sample: {e}"))?;
            let s = start.elapsed().as_secs_f64();
            stage = "ask";
            let wrong = answer::ask(&layouts, &deadline).map_err(|e| format!("ask: {e}"))?;
            Ok::<_, String>((wrong, s))
        }));
        let took = start.elapsed().as_secs_f64();
        let mem = peak();
        match outcome {
            Err(payload) => println!("PANIC {seed} {stage} {}", payload.downcast_ref::<String>().cloned().or_else(|| payload.downcast_ref::<&str>().map(|s| s.to_string())).unwrap_or_default()),
            Ok(Err(error)) if error.starts_with("refused") => { refused += 1; if env("SHOW", 0) == 1 { println!("{seed} {error}"); } }
            Ok(Err(error)) => println!("ERROR {seed} {took:.1}s {}", error.replace('\n', " ").chars().take(160).collect::<String>()),
            Ok(Ok((wrong, s))) => {
                answered += 1;
                if !wrong.0.is_empty() { println!("WRONG {seed} {} {:?}", wrong.0.len(), &wrong.0[..wrong.0.len().min(3)]); }
                if took > 3.0 { println!("SLOW {seed} {took:.1}s sample {s:.1}s"); }
            }
        }
        if mem > 700_000 { println!("MEM {seed} {} MB", mem / 1024); }
    }
    println!("DONE {from}+{count}: read {read}, refused {refused}, answered {answered} in {:?}", began.elapsed());
}
#[test]
fn show() {
    let seed = env("SEED", 0);
    let document = if env("HOSTILE", 1) == 1 { Document::hostile(seed) } else { Document::of(seed) };
    match document { Document::Tree(v) => println!("{}", serde_json::to_string(&v).unwrap()), Document::Toml(t) | Document::Json(t) => println!("{t}") }
}
