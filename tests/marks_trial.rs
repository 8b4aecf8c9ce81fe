//! A field trial over photographs with known truth, where the folder exists: prints a table of
//! measured against true figures. Run with
//! `MARKS_PHOTOS=dir cargo test --test marks_trial -- --ignored --nocapture`.

use inktell::ink::ink_on_paper;
use inktell::measure::segment;
use inktell::photo::{ReadOptions, read};
use std::path::Path;

#[test]
#[ignore = "needs a folder of photographs, named by MARKS_PHOTOS"]
fn marks_against_truth() {
    let folder = std::env::var("MARKS_PHOTOS").expect("MARKS_PHOTOS names a folder");
    let only = std::env::var("MARKS_ONLY").unwrap_or_default();
    let dump = std::env::var("MARKS_DUMP").ok();
    let mut files: Vec<_> = std::fs::read_dir(&folder)
        .expect("the folder opens")
        .filter_map(|e| e.ok().map(|e| e.path()))
        .filter(|p| p.extension().is_some_and(|e| e == "jpg" || e == "png"))
        .filter(|p| only.is_empty() || only.split(',').any(|o| p.to_string_lossy().contains(o)))
        .collect();
    files.sort();
    println!(
        "{:<22} {:>7} {:>15} {:>15} {:>15} {:>15} {:>15} {:>7}",
        "photo", "marks", "density/mm2", "coverage", "p10 mm", "p50 mm", "p90 mm", "ms"
    );
    for file in files {
        row(&file, dump.as_deref());
    }
}

fn row(file: &Path, dump: Option<&str>) {
    let truth: Option<serde_json::Value> = std::fs::read_to_string(file.with_extension("json"))
        .ok()
        .and_then(|t| serde_json::from_str(&t).ok());
    let px_per_mm = truth.as_ref().and_then(|t| t["px_per_mm"].as_f64());
    let options = ReadOptions {
        px_per_mm,
        ..ReadOptions::default()
    };
    let Ok(photo) = read(file, &options) else {
        return;
    };
    let inked = ink_on_paper(&photo);
    let start = std::time::Instant::now();
    let found = segment::find(&inked);
    let ms = start.elapsed().as_millis();
    let scale = px_per_mm.unwrap_or(1.0);
    let mm2 = found.usable_px as f64 / (scale * scale);
    let mut diameters: Vec<f64> = found
        .marks
        .iter()
        .filter(|m| !m.cut)
        .map(|m| m.diameter_px() / scale)
        .collect();
    diameters.sort_by(f64::total_cmp);
    let q = |p: f64| {
        diameters
            .get(((diameters.len().max(1) - 1) as f64 * p) as usize)
            .copied()
            .unwrap_or(0.0)
    };
    let count = found
        .marks
        .iter()
        .map(|m| if m.cut { 0.5 } else { 1.0 })
        .sum::<f64>();
    let area: f64 = found.marks.iter().map(|m| m.area_px).sum();
    let t = |path: &[&str]| {
        let mut v = truth.as_ref().map(|t| &t["truth"]);
        for p in path {
            v = v.map(|v| &v[*p]);
        }
        v.and_then(serde_json::Value::as_f64).unwrap_or(0.0)
    };
    let pair = |a: f64, b: f64| format!("{a:.3}/{b:.3}");
    println!(
        "{:<22} {:>7} {:>15} {:>15} {:>15} {:>15} {:>15} {:>7}",
        file.file_stem().unwrap().to_string_lossy(),
        found.marks.len(),
        pair(count / mm2, t(&["blobs_per_mm2"])),
        pair(area / found.usable_px as f64, t(&["ink_coverage"])),
        pair(q(0.1), t(&["blob_eq_diam_mm", "p10"])),
        pair(q(0.5), t(&["blob_eq_diam_mm", "p50"])),
        pair(q(0.9), t(&["blob_eq_diam_mm", "p90"])),
        ms
    );
    if let Some(dir) = dump {
        let (h, w) = found.labels.dim();
        let picture = image::open(file).unwrap().to_rgb8();
        let out = image::RgbImage::from_fn(w as u32, h as u32, |x, y| {
            let (x, y) = (x as usize, y as usize);
            let l = found.labels[[y, x]];
            let edge = l > 0
                && (x + 1 >= w
                    || y + 1 >= h
                    || x == 0
                    || y == 0
                    || found.labels[[y, x + 1]] != l
                    || found.labels[[y + 1, x]] != l
                    || found.labels[[y, x - 1]] != l
                    || found.labels[[y - 1, x]] != l);
            let px = *picture.get_pixel(x as u32, y as u32);
            if edge {
                image::Rgb([255, 0, 0])
            } else if !inked.usable[[y, x]] {
                image::Rgb([px[0] / 2, px[1] / 2 + 100, px[2] / 2])
            } else {
                px
            }
        });
        out.save(format!(
            "{dir}/{}.png",
            file.file_stem().unwrap().to_string_lossy()
        ))
        .unwrap();
    }
}
