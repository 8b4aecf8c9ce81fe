//! An invented examination for tests; never part of the program.

use crate::examine::{Examination, Examined, photograph};
use crate::photo::ReadOptions;
use crate::weigh::{Colouring, Finding, Process, Reading};
use std::collections::BTreeMap;

/// A small drawn photograph: dark dots of varied size, set unevenly, on warm paper.
pub(crate) fn photo_file(folder: &std::path::Path, name: &str) -> std::path::PathBuf {
    let picture = image::RgbImage::from_fn(310, 230, |x, y| {
        let (col, row) = (x / 23, y / 19);
        let radius = 3.0 + f64::from((col * 7 + row * 3) % 5) * 0.8;
        let dx = f64::from(x % 23) - 11.0 + f64::from((row * 5) % 4);
        let dy = f64::from(y % 19) - 9.0 + f64::from((col * 3) % 4) - 1.5;
        let ink = (radius + 0.5 - dx.hypot(dy)).clamp(0.0, 1.0);
        let shade = |paper: f64| (paper - ink * (paper - 40.0)) as u8;
        image::Rgb([shade(236.0), shade(228.0), shade(210.0)])
    });
    let file = folder.join(name);
    picture.save(&file).unwrap();
    file
}

/// An examination of the drawn photograph with an invented reading.
pub(crate) fn stipple() -> Examination {
    let folder = tempfile::tempdir().unwrap();
    let options = ReadOptions {
        px_per_mm: Some(56.2),
        ..ReadOptions::default()
    };
    let file = photo_file(folder.path(), "plate-7.png");
    let examined: Examined = photograph(&file, &options).unwrap();
    Examination {
        photos: vec![examined],
        reading: reading(),
    }
}

fn per_process(values: [f64; 5]) -> BTreeMap<Process, f64> {
    Process::ALL.into_iter().zip(values).collect()
}

/// The invented reading.
pub(crate) fn reading() -> Reading {
    Reading {
        process: Some(Process::StippleEngraving),
        posterior: per_process([0.9987, 0.0006, 0.0004, 0.0002, 0.0001]),
        prior: per_process([0.2; 5]),
        log10_lr: per_process([3.49, -2.6, -2.8, -3.1, -3.4]),
        limit_log10_lr: 3.9,
        strength: "strong support".into(),
        fit: Some(0.41),
        colouring: vec![Colouring::HandWash],
        colouring_posterior: BTreeMap::from([(Colouring::HandWash, 0.93)]),
        cautions: Vec::new(),
        shows_screens: true,
        shows_colour: true,
        lit_in_two_colours: false,
        narrowed_to: Vec::new(),
        outside: BTreeMap::new(),
        undetermined_because: Vec::new(),
        next_photographs: vec!["the same place at twice the magnification".into()],
        findings: vec![
            Finding {
                measurement: "marks.clark_evans".into(),
                title: "Evenness of spacing of the marks".into(),
                value: 1.421,
                unit: "1".into(),
                interval: Some([1.381, 1.459]),
                nothing_there: false,
                reference: Process::ALL
                    .into_iter()
                    .zip([
                        [1.25, 1.6],
                        [0.7, 1.1],
                        [0.9, 1.15],
                        [0.9, 1.15],
                        [1.7, 2.0],
                    ])
                    .collect(),
                log10_lr: per_process([0.6, -0.9, -0.4, -0.4, -1.8]),
                because: "the dots keep their distance but follow no lattice".into(),
            },
            Finding {
                measurement: "grain.index".into(),
                title: "Broken texture as of a grained stone".into(),
                value: 0.31,
                unit: "1".into(),
                interval: None,
                nothing_there: false,
                reference: BTreeMap::from([(Process::Lithograph, [0.3, 0.8])]),
                log10_lr: per_process([-0.3, -0.2, 0.4, 0.4, -0.1]),
                because: "the edges are a little rougher than a clean plate gives".into(),
            },
        ],
    }
}
