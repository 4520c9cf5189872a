//! Running one step in a process of its own, so that its time, processor time and peak memory are
//! its own and nobody else's.

use std::collections::BTreeMap;
use std::path::Path;
use std::process::Command;
use std::time::Instant;

/// What a step told, by name.
pub type Told = BTreeMap<String, f64>;

/// Runs a step of this program in another process and collects what it tells.
pub fn child(step: &str, folder: &Path, records: usize) -> Told {
    let program = std::env::current_exe().expect("this program");
    let output = Command::new(program)
        .args(["--step", step])
        .arg(folder)
        .arg(records.to_string())
        .output()
        .expect("started");
    let text = String::from_utf8_lossy(&output.stdout);
    assert!(
        output.status.success(),
        "step {step} failed:\n{text}{}",
        String::from_utf8_lossy(&output.stderr)
    );
    text.lines()
        .filter_map(|line| {
            let (name, value) = line.split_once('=')?;
            Some((name.to_owned(), value.parse().ok()?))
        })
        .collect()
}

/// Tells the process that asked.
pub fn tell(name: &str, value: f64) {
    println!("{name}={value}");
}

/// Does something and tells how long it took, how much processor time it used, and the most memory
/// this process ever held.
pub fn measured<T>(work: impl FnOnce() -> T) -> T {
    let (before_s, start) = (processor_s(), Instant::now());
    let value = work();
    tell("wall_s", start.elapsed().as_secs_f64());
    tell("processor_s", processor_s() - before_s);
    tell("peak_mib", peak_mib());
    value
}

/// Processor time of all threads of this process so far; 0 where the system does not tell.
pub fn processor_s() -> f64 {
    let stat = std::fs::read_to_string("/proc/self/stat").unwrap_or_default();
    // Fields 14 and 15, counted from behind the name; in hundredths of a second.
    let fields = stat.rsplit_once(')').map_or("", |(_, rest)| rest);
    let ticks = fields.split_whitespace().skip(11).take(2);
    ticks
        .filter_map(|field| field.parse::<f64>().ok())
        .sum::<f64>()
        / 100.0
}

/// The most resident memory this process ever had; 0 where the system does not tell.
fn peak_mib() -> f64 {
    let status = std::fs::read_to_string("/proc/self/status").unwrap_or_default();
    let line = status.lines().find_map(|line| line.strip_prefix("VmHWM:"));
    let kib = line.and_then(|line| line.trim().strip_suffix("kB"));
    kib.and_then(|kib| kib.trim().parse::<f64>().ok())
        .unwrap_or(0.0)
        / 1024.0
}

/// How many processes wait for a processor, on average over the last minute.
pub fn load_average() -> String {
    let text = std::fs::read_to_string("/proc/loadavg").unwrap_or_default();
    text.split_whitespace().next().unwrap_or("?").to_owned()
}
