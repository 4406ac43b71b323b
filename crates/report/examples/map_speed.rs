//! Times the map of the sample face: `cargo run --release -p report --example map_speed [ROWS COLUMNS [DIR]]`.
//! With DIR the map is written there, to be looked at.

#[path = "../tests/sample/mod.rs"]
#[allow(dead_code, clippy::unwrap_used)]
mod sample;

use std::time::Instant;

/// Runs of each step; the mean is printed.
const RUNS: usize = 100;

/// Seconds that this thread has had on a processor (Linux), which a busy machine does not stretch; elsewhere
/// seconds since the start.
fn seconds(start: Instant) -> f64 {
    let on_cpu = std::fs::read_to_string("/proc/thread-self/schedstat").ok();
    let nanoseconds = on_cpu.and_then(|text| text.split(' ').next()?.parse::<f64>().ok());
    nanoseconds.map_or_else(|| start.elapsed().as_secs_f64(), |ns| ns * 1e-9)
}

fn timed<T>(name: &str, mut step: impl FnMut() -> T) -> T {
    let clock = Instant::now();
    let start = seconds(clock);
    let mut last = step();
    for _ in 1..RUNS {
        last = step();
    }
    println!("{name:8} {:6.2} ms", (seconds(clock) - start) * 1e3 / RUNS as f64);
    last
}

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let number = |i: usize, or: u16| arguments.get(i).map_or(Ok(or), |text| text.parse());
    let (rows, columns) = (number(0, 1)?, number(1, 12)?);
    let record = sample::record(rows, columns);
    let pictures = sample::pictures(rows, columns);
    let json = timed("json", || record.to_json())?;
    let drawing = timed("compose", || report::map::compose(&record, &pictures));
    let svg = timed("svg", || report::map::svg(&drawing));
    let png = timed("png", || report::map::png(&drawing))?;
    println!(
        "{} x {}: svg {} kB, png {} kB",
        drawing.width,
        drawing.height,
        svg.len() / 1000,
        png.len() / 1000
    );
    if let Some(dir) = arguments.get(2) {
        let dir = std::path::Path::new(dir);
        std::fs::create_dir_all(dir)?;
        std::fs::write(dir.join("face.json"), json)?;
        std::fs::write(dir.join("map.svg"), svg)?;
        std::fs::write(dir.join("map.png"), png)?;
    }
    Ok(())
}
