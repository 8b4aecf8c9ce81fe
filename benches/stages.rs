//! Every stage and the whole on one 12-megapixel photograph, and the whole as a ratio: to decoding
//! alone, and to the same measurements written with scikit-image on the same picture in the same
//! run (where `python3` has it); peak memory a pixel.

use criterion::{Criterion, criterion_group, criterion_main};
use inktell::measure::film::ground;
use inktell::measure::{Examined, film, grain, lattice, layering, lines, marks, measure, segment};
use inktell::photo::{self, ReadOptions};
use inktell::specimen::series::{SeedFamily, SeriesRequest, specimen};
use inktell::specimen::sheet::Origin;
use inktell::{examine, ink};
use std::hint::black_box;
use std::path::{Path, PathBuf};
use std::process::Command;
use std::sync::LazyLock;
use std::time::Instant;

/// As in the program.
#[global_allocator]
static ALLOCATOR: mimalloc::MiMalloc = mimalloc::MiMalloc;

/// The photograph: a stippled sheet at 90 px/mm, as its camera stored it.
static PHOTO: LazyLock<Vec<u8>> = LazyLock::new(|| {
    let request = SeriesRequest {
        origin: Some(Origin::StippleEngraving),
        px_per_mm: Some([90.0, 90.0]),
        size_px: Some([4000, 3000]),
        ..SeriesRequest::default()
    };
    let drawn = specimen(SeedFamily::Scoring.seed(0), &request);
    drawn.encode().expect("a drawn photo can be encoded")
});

fn options() -> ReadOptions {
    ReadOptions {
        px_per_mm: Some(90.0),
        ..ReadOptions::default()
    }
}

fn whole() {
    let examined = examine::bytes(&PHOTO, Path::new("bench.jpg"), &options()).expect("readable");
    black_box(examine::together(vec![examined], None));
}

fn decode_only() {
    black_box(
        image::load_from_memory(&PHOTO)
            .expect("readable")
            .into_rgb8(),
    );
}

fn stages(criterion: &mut Criterion) {
    let read = || photo::from_bytes(&PHOTO, Path::new("bench.jpg"), &options()).expect("readable");
    let photo = read().binned();
    println!("measured in bins of {} pixels a side", photo.binning.by);
    let inked = ink::ink_on_paper(&photo);
    let segments = segment::find(&inked);
    let mut group = criterion.benchmark_group("12 megapixels");
    group.sample_size(10);
    group.bench_function("decode only", |b| b.iter(decode_only));
    group.bench_function("photo", |b| {
        b.iter(|| read().binned());
    });
    group.bench_function("ink", |b| b.iter(|| ink::ink_on_paper(&photo)));
    group.bench_function("measure segment", |b| b.iter(|| segment::find(&inked)));
    group.bench_function("measure marks", |b| {
        b.iter(|| marks::measure(&inked, &segments))
    });
    group.bench_function("measure lines", |b| {
        b.iter(|| lines::measure(&inked, &segments))
    });
    group.bench_function("measure lattice", |b| {
        b.iter(|| lattice::measure(&inked, &segments))
    });
    group.bench_function("measure grain", |b| {
        b.iter(|| grain::measure(&inked, &segments))
    });
    group.bench_function("measure film", |b| {
        b.iter(|| film::on_ground(&inked, &ground::map(&inked)))
    });
    group.bench_function("measure layering", |b| {
        b.iter(|| layering::on_ground(&inked, &ground::map(&inked)))
    });
    group.bench_function("weigh", |b| {
        let examined = || {
            let measurements = measure(&inked);
            vec![Examined {
                photo: photo.clone(),
                inked: inked.clone(),
                measurements,
            }]
        };
        b.iter_batched(
            examined,
            |e| examine::together(e, None),
            criterion::BatchSize::LargeInput,
        );
    });
    group.bench_function("whole", |b| b.iter(whole));
    group.finish();
}

/// Ratios within one run, the two sides taking turns so that a busy machine slows both.
fn ratios(_: &mut Criterion) {
    const TURNS: usize = 7;
    let (mut decode, mut all) = (Vec::new(), Vec::new());
    for _ in 0..TURNS {
        decode.push(seconds(decode_only));
        all.push(seconds(whole));
    }
    let (decode, all) = (median(decode), median(all));
    println!(
        "whole / decoding alone: {:.1}  ({all:.2} s / {decode:.3} s)",
        all / decode
    );
    let folder = tempfile::tempdir().expect("a temporary folder");
    let file = folder.path().join("bench.jpg");
    std::fs::write(&file, &*PHOTO).expect("the temporary folder can be written");
    match in_python(&file) {
        Some(python) => println!(
            "the same measurements in scikit-image / whole: {:.1}  ({python:.2} s)",
            python / all
        ),
        None => println!("scikit-image is not installed for python3: no comparison"),
    }
    if let Some(bytes) = peak_memory(&file) {
        println!("peak memory: {:.0} bytes a pixel", bytes / 12e6);
    }
}

fn seconds(job: impl Fn()) -> f64 {
    let start = Instant::now();
    job();
    start.elapsed().as_secs_f64()
}

fn median(mut values: Vec<f64>) -> f64 {
    values.sort_by(f64::total_cmp);
    values[values.len() / 2]
}

/// Seconds that the script beside this file reports for the same picture.
fn in_python(photo: &Path) -> Option<f64> {
    let script = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("benches/same_in_scikit_image.py");
    let output = Command::new("python3")
        .arg(script)
        .arg(photo)
        .arg("90")
        .output()
        .ok()?;
    String::from_utf8_lossy(&output.stdout).trim().parse().ok()
}

/// Peak resident memory of the program examining the photo, bytes; Linux only.
fn peak_memory(photo: &Path) -> Option<f64> {
    let measure = "import resource,subprocess,sys;\
        subprocess.run(sys.argv[1:],stdout=subprocess.DEVNULL,check=True);\
        print(resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss*1024)";
    let program = env!("CARGO_BIN_EXE_inktell");
    let output = Command::new("python3")
        .args([
            "-c",
            measure,
            program,
            "examine",
            "--px-per-mm",
            "90",
            "--json",
            "-",
        ])
        .arg(photo)
        .output()
        .ok()?;
    String::from_utf8_lossy(&output.stdout).trim().parse().ok()
}

criterion_group!(benches, stages, ratios);
criterion_main!(benches);
