use inktell::{ink, measure, photo};
use std::time::Instant;
fn main() {
    for path in std::env::args().skip(1) {
        let p = std::path::Path::new(&path);
        let Ok(photo) = photo::decode::read(p, &photo::decode::ReadOptions::default()) else {
            eprintln!("cannot read {path}");
            continue;
        };
        let t0 = Instant::now();
        let inked = ink::ink_on_paper(&photo);
        let t1 = Instant::now();
        let segments = measure::segment::Segments {
            labels: ndarray::Array2::zeros((1, 1)),
            marks: vec![],
            usable_px: 0,
        };
        let film = measure::film::measure(&inked, &segments);
        let t2 = Instant::now();
        let layering = measure::layering::measure(&inked, &segments);
        let t3 = Instant::now();
        let pts: Vec<_> = layering
            .points
            .iter()
            .map(|p| (p.at_px, p.ground, p.ink))
            .collect();
        println!(
            "{}",
            serde_json::json!({"file": path, "paper": inked.paper, "film": film, "layering": layering, "points": pts,
          "ms": [(t1 - t0).as_millis() as u64, (t2 - t1).as_millis() as u64, (t3 - t2).as_millis() as u64]})
        );
    }
}
