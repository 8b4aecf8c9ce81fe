//! Drawn hatching, measured and compared with what was drawn.

use super::{Lines, measure};
use crate::ink::{Inked, Paper};
use crate::measure::segment;
use crate::measured::Measured;
use crate::photo::adequacy::{Adequacy, Verdict};
use crate::photo::{Scale, scale::ScaleSource};
use crate::plane::Plane;
use ndarray::Array2;
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

/// A sheet to draw on: ink cover 0–1 at each pixel.
struct Sheet {
    cover: Plane,
}

impl Sheet {
    fn blank(rows: usize, columns: usize) -> Self {
        Self {
            cover: Plane::zeros((rows, columns)),
        }
    }

    /// Lines where `phase` (in lines) passes a half, `width_px` wide, inside `inside`.
    fn hatch(
        mut self,
        width_px: f64,
        phase: impl Fn(f64, f64) -> f64,
        inside: impl Fn(f64, f64) -> bool,
    ) -> Self {
        for ((row, column), cover) in self.cover.indexed_iter_mut() {
            let (x, y) = (column as f64, row as f64);
            if !inside(x, y) {
                continue;
            }
            let gradient = (phase(x + 0.5, y) - phase(x - 0.5, y))
                .hypot(phase(x, y + 0.5) - phase(x, y - 0.5));
            let away_px = (phase(x, y).rem_euclid(1.0) - 0.5).abs() / gradient;
            let line = (width_px / 2.0 - away_px + 0.5).clamp(0.0, 1.0) as f32;
            *cover = cover.max(line);
        }
        self
    }

    /// Dots of a given diameter at the given places.
    fn dots(mut self, diameter_px: f64, places: &[(f64, f64)]) -> Self {
        let reach = diameter_px.ceil() as i64;
        for &(cx, cy) in places {
            for row in cy as i64 - reach..=cy as i64 + reach {
                for column in cx as i64 - reach..=cx as i64 + reach {
                    let away = (column as f64 - cx).hypot(row as f64 - cy);
                    let dot = (diameter_px / 2.0 - away + 0.5).clamp(0.0, 1.0) as f32;
                    let at = (row.max(0) as usize, column.max(0) as usize);
                    if let Some(cover) = self.cover.get_mut(at) {
                        *cover = cover.max(dot);
                    }
                }
            }
        }
        self
    }

    /// Photographed with some noise.
    fn photographed(&self, noise: f64, seed: u64) -> Inked {
        let mut rng = ChaCha8Rng::seed_from_u64(seed);
        let grey = self.cover.mapv(|cover| {
            let speckle: f64 = (0..4).map(|_| rng.random_range(-1.0..1.0)).sum();
            let light = (1.0 - 0.88 * f64::from(cover) + noise * speckle * 0.87).max(0.01);
            (-light.log10()) as f32
        });
        inked(grey)
    }
}

fn inked(grey_density: Plane) -> Inked {
    let none = || Measured::missing("drawn");
    Inked {
        density: [
            grey_density.clone(),
            grey_density.clone(),
            grey_density.clone(),
        ],
        usable: Array2::from_elem(grey_density.dim(), true),
        grey_density,
        light: [[0.0; 6]; 3],
        paper: Paper {
            linear: [1.0; 3],
            lab: [100.0, 0.0, 0.0],
            share: 0.5,
            hue_drift: 0.0,
        },
        grey: true,
        scale: Some(Scale {
            value: 40.0,
            lo: 40.0,
            hi: 40.0,
            source: ScaleSource::Given,
        }),
        adequacy: Adequacy {
            sharpness_cycles_per_px: none(),
            sharpness_lp_per_mm: none(),
            blur_sigma_px: none(),
            noise: none(),
            clipped_share: none(),
            motion_ratio: none(),
            blocking: none(),
            beside: Default::default(),
            verdict: Verdict::Good,
            notes: Vec::new(),
        },
    }
}

fn lines_of(sheet: &Sheet) -> Lines {
    let inked = sheet.photographed(0.02, 7);
    measure(&inked, &segment::find(&inked))
}

/// Phase of a straight ruling whose lines run at `deg` counter-clockwise as seen.
fn ruling(deg: f64, period_px: f64) -> impl Fn(f64, f64) -> f64 {
    let (sin, cos) = deg.to_radians().sin_cos();
    // Across the line direction (cos, −sin) with y down.
    move |x, y| (x * sin + y * cos) / period_px
}

fn everywhere(_: f64, _: f64) -> bool {
    true
}

fn holds(figure: &Measured, truth: f64) -> bool {
    figure
        .figure()
        .is_some_and(|f| f.lo <= truth && truth <= f.hi)
}

#[test]
fn straight_ruling_at_odd_angles_and_spacings() {
    for (deg, period) in [
        (0.0, 5.3),
        (31.0, 9.7),
        (88.0, 14.2),
        (90.0, 7.0),
        (137.0, 23.9),
        (179.2, 35.0),
    ] {
        let sheet = Sheet::blank(650, 790).hatch(0.35 * period, ruling(deg, period), everywhere);
        let lines = lines_of(&sheet);
        assert_eq!(lines.systems.len(), 1, "{deg}° {period} px");
        let system = &lines.systems[0];
        let spacing = system.spacing_per_mm.value().unwrap();
        assert!(
            (spacing * period / 40.0 - 1.0).abs() < 0.005,
            "{deg}° {period} px: {spacing}"
        );
        assert!(
            holds(&system.spacing_per_mm, 40.0 / period),
            "{:?}",
            system.spacing_per_mm
        );
        let turned = system.orientation_deg.value().unwrap() - deg;
        let turned = (turned + 90.0).rem_euclid(180.0) - 90.0;
        assert!(turned.abs() < 0.3, "{deg}° {period} px: off by {turned}");
        assert!(system.wander.value().unwrap() < 0.02);
        assert!(system.share_of_field.value().unwrap() > 0.6);
    }
}

#[test]
fn converging_lines_give_the_mean_over_the_area() {
    // Period falls from 12 to 8 px down the sheet: phase is the integral of the frequency.
    let phase =
        |x: f64, y: f64| x * 0.02 + y / 12.0 + (1.0 / 8.0 - 1.0 / 12.0) * y * y / (2.0 * 700.0);
    let lines = lines_of(&Sheet::blank(700, 520).hatch(3.0, phase, everywhere));
    let truth = 40.0 * (0.02f64).hypot((1.0 / 12.0 + 1.0 / 8.0) / 2.0);
    let spacing = lines.systems[0].spacing_per_mm.value().unwrap();
    assert!(
        (spacing / truth - 1.0).abs() < 0.01,
        "{spacing} for {truth}"
    );
    assert!(holds(&lines.systems[0].spacing_per_mm, truth));
}

#[test]
fn crossed_hatching_is_two_systems_and_their_angle() {
    let sheet = Sheet::blank(480, 650)
        .hatch(2.8, ruling(25.0, 9.0), everywhere)
        .hatch(2.8, ruling(82.0, 11.0), |x, _| x < 400.0);
    let lines = lines_of(&sheet);
    assert_eq!(lines.systems.len(), 2);
    assert_eq!(lines.crossings.len(), 1);
    let angle = lines.crossings[0].angle_deg.value().unwrap();
    assert!((angle - 57.0).abs() < 1.0, "{angle}");
    let spacing = |i: usize| lines.systems[i].spacing_per_mm.value().unwrap();
    assert!((spacing(0) / (40.0 / 9.0) - 1.0).abs() < 0.01);
    assert!((spacing(1) / (40.0 / 11.0) - 1.0).abs() < 0.015);
}

#[test]
fn lines_round_a_form_are_one_system_that_wanders() {
    let phase = |x: f64, y: f64| (x + 160.0).hypot(y + 200.0) / 10.0;
    let lines = lines_of(&Sheet::blank(520, 640).hatch(3.0, phase, everywhere));
    assert_eq!(lines.systems.len(), 1);
    let system = &lines.systems[0];
    assert!((system.spacing_per_mm.value().unwrap() / 4.0 - 1.0).abs() < 0.01);
    assert!(system.wander.value().unwrap() > 0.1);
    assert!(system.phase_coherence.value().unwrap() < 0.8);
}

#[test]
fn a_patch_counts_by_its_area() {
    let sheet = Sheet::blank(500, 700).hatch(2.5, ruling(60.0, 8.0), |x, y| {
        (100.0..450.0).contains(&x) && (80.0..380.0).contains(&y)
    });
    let share = &lines_of(&sheet).systems[0].share_of_field;
    assert!(holds(share, 0.3), "{share:?}");
}

#[test]
fn no_system_in_blank_noise_or_strewn_dots() {
    let mut rng = ChaCha8Rng::seed_from_u64(5);
    for round in 0..4 {
        let mut places: Vec<(f64, f64)> = Vec::new();
        // Inhibited like stipple: no two dots closer than 9 px.
        while places.len() < 1500 {
            let at = (rng.random_range(0.0..640.0), rng.random_range(0.0..500.0));
            let tries_left = places.len() < 1500;
            if tries_left && places.iter().all(|p| (p.0 - at.0).hypot(p.1 - at.1) > 9.0) {
                places.push(at);
            }
        }
        let lines = lines_of(&Sheet::blank(500, 640).dots(5.0, &places));
        assert!(
            lines.systems.is_empty(),
            "round {round}: {:?}",
            lines.systems.len()
        );
    }
    assert!(lines_of(&Sheet::blank(300, 410)).systems.is_empty());
}

#[test]
fn odd_pictures_do_not_panic() {
    for (rows, columns) in [(1, 1), (1, 20_000), (47, 300), (48, 48), (20_000, 1)] {
        for density in [0.0, 3.0] {
            let inked = inked(Plane::from_elem((rows, columns), density));
            let lines = measure(&inked, &segment::find(&inked));
            assert!(lines.systems.is_empty());
        }
    }
    let mut unusable = inked(Plane::from_elem((120, 90), 0.4));
    unusable.usable.fill(false);
    assert!(
        measure(&unusable, &segment::find(&unusable))
            .systems
            .is_empty()
    );
}

#[test]
fn a_ruling_shows_no_second_one_by_the_halving_of_resolution() {
    for (deg, period_px) in [(87.0, 9.2), (80.0, 9.6), (87.0, 4.5)] {
        let sheet =
            Sheet::blank(1000, 1000).hatch(0.45 * period_px, ruling(deg, period_px), everywhere);
        let found = lines_of(&sheet);
        assert_eq!(
            found.systems.len(),
            1,
            "{period_px} px: {:?}",
            found.systems
        );
        assert!(found.crossings.is_empty());
    }
}
