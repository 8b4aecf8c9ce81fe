use super::drawn::{BLACK, Dot, PAPER, dots, inked, light};
use super::*;
use crate::ink::cielab;

const SIZE: [usize; 2] = [700, 520];
/// What a warm tint stone's film lets through.
const TINT: [f64; 3] = [0.78, 0.68, 0.48];
const BARE: [f64; 3] = [1.0; 3];

fn all_black(seed: u64) -> Vec<Dot> {
    // Marks on the middle only, so that open ground is left on all sides.
    dots(SIZE, seed, |x, y| {
        ((150.0..550.0).contains(&x) && (100.0..420.0).contains(&y)).then_some(BLACK)
    })
}

/// A tint with a straight edge at x = 470: film to its left.
fn tinted(x: f64, _y: f64) -> [f64; 3] {
    if x < 470.0 { TINT } else { BARE }
}

fn film_of(inked: &Inked) -> Film {
    on_ground(inked, &ground::map(inked))
}

fn value(figure: &Measured) -> f64 {
    figure.value().unwrap_or_else(|| panic!("{figure:?}"))
}

#[test]
fn a_tint_under_black_marks_is_found_with_its_colour_and_cover() {
    let film = film_of(&inked(&light(SIZE, &all_black(1), 1, tinted), 0.0));
    let drawn = cielab::from_linear([0, 1, 2].map(|c| PAPER[c] * TINT[c]));
    let off = cielab::delta_e_2000(film.lab.expect("a film"), drawn);
    assert!(off < 1.0, "film off by {off} ΔE00: {film:?}");
    let white = cielab::delta_e_2000(
        film.lab_on_white.expect("a film"),
        cielab::from_linear(TINT),
    );
    assert!(white < 1.0, "film on white off by {white} ΔE00");
    let bare = cielab::delta_e_2000(
        film.lightest_lab.expect("paper"),
        cielab::from_linear(PAPER),
    );
    assert!(bare < 1.0, "paper off by {bare} ΔE00");
    assert!(
        (value(&film.cover) - 470.0 / 700.0).abs() < 0.05,
        "{:?}",
        film.cover
    );
    assert!(
        value(&film.open_ground) > 0.5 && value(&film.beneath_marks).abs() < 0.25,
        "{film:?}"
    );
    assert!(
        value(&film.valley) > 0.8 && value(&film.drift) < 0.15,
        "{film:?}"
    );
    assert!(
        value(&film.edge_waver_cells) < 0.5 && value(&film.edge_overshoot).abs() < 0.1,
        "{film:?}"
    );
}

#[test]
fn bare_paper_under_marks_has_no_film() {
    let film = film_of(&inked(&light(SIZE, &all_black(2), 1, |_, _| BARE), 0.0));
    assert_eq!(film.levels, 1);
    assert!(
        film.lab.is_none() && film.cover.value().is_none(),
        "{film:?}"
    );
}

#[test]
fn a_tint_taken_for_a_slope_of_light_is_given_its_step_back() {
    let picture = light(SIZE, &all_black(3), 1, tinted);
    for bend in [-0.12, 0.12] {
        let film = film_of(&inked(&picture, bend));
        let off = cielab::delta_e_2000(
            film.lab_on_white.expect("a film"),
            cielab::from_linear(TINT),
        );
        assert!(off < 2.0, "bend {bend}: {off} ΔE00");
    }
}

#[test]
fn a_pooled_rim_and_a_fading_one_are_told_from_a_cut_one() {
    let rim = |swell: f64| {
        let ground = move |x: f64, _: f64| match x {
            // A rim three cells wide.
            x if x < 452.0 => TINT,
            x if x < 470.0 => TINT.map(|t| t.powf(1.0 + swell)),
            _ => BARE,
        };
        value(&film_of(&inked(&light(SIZE, &[], 1, ground), 0.0)).edge_overshoot)
    };
    let (pooled, cut, fading) = (rim(0.15), rim(0.0), rim(-0.15));
    assert!(
        pooled > 0.08 && cut.abs() < 0.05 && fading < -0.08,
        "{pooled} {cut} {fading}"
    );
}

#[test]
fn scraped_lights_are_counted() {
    let lights = [[100.0, 80.0], [300.0, 350.0], [380.0, 120.0]];
    let ground = |x: f64, y: f64| {
        let scraped = lights.iter().any(|l| (x - l[0]).hypot(y - l[1]) < 18.0);
        if scraped { BARE } else { tinted(x, y) }
    };
    let film = film_of(&inked(&light(SIZE, &[], 1, ground), 0.0));
    assert_eq!(value(&film.scraped_lights), 3.0);
}

#[test]
fn lights_show_the_paper_of_a_sheet_that_a_tint_covers() {
    let lights = [[100.0, 80.0], [300.0, 350.0], [600.0, 120.0]];
    let ground = |x: f64, y: f64| {
        let scraped = lights.iter().any(|l| (x - l[0]).hypot(y - l[1]) < 14.0);
        if scraped { BARE } else { TINT }
    };
    let film = film_of(&inked(&light(SIZE, &[], 1, ground), 0.0));
    assert_eq!(value(&film.scraped_lights), 3.0);
    assert!(value(&film.cover) > 0.9, "{:?}", film.cover);
    let drawn = cielab::from_linear([0, 1, 2].map(|c| PAPER[c] * TINT[c]));
    let off = cielab::delta_e_2000(film.lab.expect("a film"), drawn);
    assert!(off < 1.0, "film off by {off} ΔE00: {film:?}");
}

#[test]
fn a_solid_of_black_is_no_film() {
    let solid = |x: f64, _: f64| if x < 250.0 { [0.36, 0.34, 0.33] } else { BARE };
    let film = film_of(&inked(&light(SIZE, &all_black(4), 1, solid), 0.0));
    assert_eq!((film.levels, film.lab), (1, None));
    // A tint beside it is found all the same.
    let both = |x: f64, y: f64| if x < 250.0 { solid(x, y) } else { tinted(x, y) };
    let film = film_of(&inked(&light(SIZE, &[], 1, both), 0.0));
    let drawn = cielab::from_linear([0, 1, 2].map(|c| PAPER[c] * TINT[c]));
    let off = cielab::delta_e_2000(film.lab.expect("a film"), drawn);
    assert!(off < 1.0, "film off by {off} ΔE00: {film:?}");
}

#[test]
fn a_grey_photograph_withholds_everything() {
    let mut grey = inked(&light(SIZE, &[], 0, tinted), 0.0);
    grey.grey = true;
    assert!(film_of(&grey).cover.value().is_none());
}

#[test]
fn odd_pictures_do_not_stop_it() {
    for size in [[1, 1], [1, 900], [900, 1], [5, 5], [17, 40]] {
        for level in [0.0, 1e-3, 1.0, 40.0] {
            let picture = light(size, &[], 0, |_, _| [level; 3]);
            let mut drawn = inked(&picture, 0.0);
            let _ = film_of(&drawn);
            drawn.usable.fill(false);
            let film = film_of(&drawn);
            assert!(film.lab.is_none() && film.ground_seen == 0.0);
        }
    }
}

#[test]
fn a_tint_is_one_thickness_and_a_wash_is_many() {
    let of = |thickness: fn(f64, f64) -> f64| {
        film_of(&inked(
            &light(SIZE, &all_black(4), 1, |x, y| {
                if x < 470.0 {
                    TINT.map(|through| through.powf(thickness(x, y)))
                } else {
                    BARE
                }
            }),
            0.0,
        ))
    };
    let tint = of(|_, _| 1.0);
    assert!(value(&tint.thickness_scatter) < 0.06, "{tint:?}");
    assert!(value(&tint.thickness_swell) < 0.04, "{tint:?}");
    // Pools of ±30 %, a few in the frame: sin · cos has half that root mean square.
    let wash = of(|x, y| 1.0 + 0.3 * (x / 60.0).sin() * (y / 50.0).cos());
    assert!(
        (0.07..0.3).contains(&value(&wash.thickness_scatter)),
        "{wash:?}"
    );
    assert!(
        (0.06..0.3).contains(&value(&wash.thickness_swell)),
        "{wash:?}"
    );
    assert!(
        value(&wash.evenest_swell) > 2.0 * value(&tint.evenest_swell),
        "{wash:?}"
    );
}

/// Ends of the border of a colour found on a sheet, or why there is none.
fn border_of(ground: impl Fn(f64, f64) -> [f64; 3]) -> Film {
    film_of(&inked(&light(SIZE, &all_black(7), 1, ground), 0.0))
}

#[test]
fn a_ruled_border_is_found_across_marks_and_washes() {
    // A rose wash over the upper part, and a tint to the left of x = 470 over and beside it.
    const ROSE: [f64; 3] = [0.85, 0.6, 0.65];
    let film = border_of(|x, y| {
        let wash = if y < 200.0 + 30.0 * (x / 40.0).sin() {
            ROSE
        } else {
            BARE
        };
        [0, 1, 2].map(|c| wash[c] * tinted(x, y)[c])
    });
    let [a, b] = film.border_ends_px.expect("a border");
    assert!(
        (a[0] - 470.0).abs() < 5.0 && (b[0] - 470.0).abs() < 5.0,
        "{a:?} {b:?}"
    );
    assert!((a[1] - b[1]).abs() > 0.8 * SIZE[1] as f64, "{a:?} {b:?}");
    let tall = SIZE[1] as f64 / SIZE[0] as f64;
    assert!(value(&film.border_length) > 0.8 * tall && value(&film.border_length) <= tall);
    assert!(value(&film.border_unevenness) < 0.1, "{film:?}");
    assert!(value(&film.border_waver_cells) < 0.4, "{film:?}");
    // Two levels of hue along the border, of which one covers 200 of 520 px.
    let hue = |light: [f64; 3]| {
        let [a, b] = layout::hue_part(light.map(|l| -l.log10()));
        a.hypot(b)
    };
    let share: f64 = 200.0 / 520.0;
    let crossed = (share * (1.0 - share)).sqrt() * hue(ROSE) / hue(TINT);
    approx::assert_relative_eq!(value(&film.border_crossed), crossed, max_relative = 0.1);
}

#[test]
fn nothing_is_crossed_by_the_border_of_one_colour_on_bare_paper() {
    let film = border_of(tinted);
    assert!(value(&film.border_length) > 0.6, "{film:?}");
    assert!(value(&film.border_crossed) < 0.1, "{film:?}");
}

#[test]
fn a_faint_border_is_found_beside_strong_outlines() {
    // A disc of strong green stands on a third of the border of a faint tint.
    let film = border_of(|x, y| {
        let green = if (x - 470.0).hypot(y - 200.0) < 90.0 {
            [0.3, 0.6, 0.3]
        } else {
            BARE
        };
        let faint = if x < 470.0 { [0.93, 0.91, 0.85] } else { BARE };
        [0, 1, 2].map(|c| green[c] * faint[c])
    });
    let [a, b] = film.border_ends_px.expect("a border");
    assert!(
        (a[0] - 470.0).abs() < 5.0 && (b[0] - 470.0).abs() < 5.0,
        "{a:?} {b:?}"
    );
    assert!(value(&film.border_waver_cells) < 0.4, "{film:?}");
}

#[test]
fn a_waving_border_and_bare_paper_have_no_straight_one() {
    let waving = border_of(|x, y| {
        if x < 400.0 + 60.0 * (y / 50.0).sin() {
            TINT
        } else {
            BARE
        }
    });
    assert!(waving.border_length.value().is_none(), "{waving:?}");
    let bare = border_of(|_, _| BARE);
    assert!(bare.border_length.value().is_none(), "{bare:?}");
}
