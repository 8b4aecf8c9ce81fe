//! A photograph with switchable layers; in print, as it is and as measured, side by side.

use super::heading;
use crate::measure::Examined;
use crate::measure::segment::{self, Segments};
use crate::photo::Photo;
use crate::report::figures;
use crate::report::overlay::{self, Layer, View, ruler};
use crate::report::picture::{self, OVERVIEW_SIDE_PX, Window};
use crate::report::words::{self, page};
use maud::{Markup, html};

/// The detail, px of the photograph: wide enough for a dozen rows of the coarsest screens, small
/// enough to be shown larger than life on a page.
const DETAIL_PX: (usize, usize) = (480, 360);

/// The photograph, whole and in detail.
pub fn photograph(examined: &Examined, index: usize, count: usize) -> Markup {
    let segments = segment::find(&examined.inked);
    let whole = Window::whole(&examined.photo);
    let detail = telling_window(&segments, &examined.photo);
    html! {
        section class="photograph" {
            (heading(page::PHOTOGRAPH, &examined.photo.provenance.file, index, count))
            p class="facts" { (facts(examined)) }
            @if let Some(doubt) = words::scale_caution(examined.photo.file_scale().as_ref()) { p class="notice" { (doubt) } }
            @for note in &examined.photo.adequacy.notes { p class="notice" { (words::sentence(note)) } }
            (plate(examined, &segments, whole, View::Whole, index))
            // A small photograph is its own detail.
            @if detail != whole { (plate(examined, &segments, detail, View::Detail, index)) }
        }
    }
}

/// Size, scale and verdict in a sentence.
fn facts(examined: &Examined) -> String {
    let photo = &examined.photo;
    let scale = photo.file_scale().map_or_else(
        || "its scale is unknown, so lengths in millimetres are withheld".to_owned(),
        |s| {
            let value = figures::value_with_interval(s.value, Some([s.lo, s.hi]), "px/mm");
            format!("scale {value}, {}", words::scale_source(s.source))
        },
    );
    let (width, height) = photo.binning.file_size_px;
    format!(
        "{} × {} pixels; {scale}; {}.{}",
        figures::number(width as f64, 0),
        figures::number(height as f64, 0),
        words::verdict(photo.adequacy.verdict),
        words::binned(photo.binning.by)
    )
}

/// The window with most printed edge inside the usable field; ties go to the first.
pub(crate) fn telling_window(segments: &Segments, photo: &Photo) -> Window {
    let (height, width) = segments.labels.dim();
    let size = (DETAIL_PX.0.min(width), DETAIL_PX.1.min(height));
    let window = |left, top| Window {
        left,
        top,
        width: size.0,
        height: size.1,
    };
    let starts = |length: usize, side: usize| {
        let step = (side / 2).max(1);
        let last = length - side;
        (0..last).step_by(step).chain([last])
    };
    let mut best = (window((width - size.0) / 2, (height - size.1) / 2), 0);
    for top in starts(height, size.1) {
        for left in starts(width, size.0) {
            let edge = printed_edge(segments, photo, window(left, top));
            if edge > best.1 {
                best = (window(left, top), edge);
            }
        }
    }
    best.0
}

/// Number of usable pixels of marks beside pixels of none, on a grid fine enough for a choice.
fn printed_edge(segments: &Segments, photo: &Photo, window: Window) -> usize {
    let labels = &segments.labels;
    let mut edge = 0;
    for y in (window.top..window.top + window.height).step_by(2) {
        for x in window.left..(window.left + window.width).saturating_sub(1) {
            let differs = (labels[[y, x]] == 0) != (labels[[y, x + 1]] == 0);
            edge += usize::from(differs && photo.usable[[y, x]]);
        }
    }
    edge
}

/// One picture: switches and layers on the screen, two copies side by side on paper.
fn plate(
    examined: &Examined,
    segments: &Segments,
    window: Window,
    view: View,
    index: usize,
) -> Markup {
    let longest = match view {
        View::Whole => OVERVIEW_SIDE_PX,
        View::Detail => DETAIL_PX.0,
    };
    let Some(address) = picture::jpeg(&examined.photo, window, longest) else {
        return html! { p { "The photograph holds no pixels to show." } };
    };
    let layers = overlay::layers(examined, segments, window, view);
    let id = format!("p{index}{}", if view == View::Whole { "w" } else { "d" });
    let frame = Frame {
        id: &id,
        window,
        layers: &layers,
        ruler: ruler::bar(examined.photo.scale.as_ref(), window),
    };
    // On paper nothing can be switched off: there it is only what starts switched on.
    let screens = examined.measurements.lattice.inks.len();
    let on = |layer: &Layer| starts_on(layer, screens, view);
    let caption = match view {
        View::Whole => page::WHOLE,
        View::Detail => page::DETAIL,
    };
    html! {
        figure class={ "plate " (if view == View::Whole { "whole" } else { "detail" }) } {
            svg class="store" aria-hidden="true" {
                defs {
                    image id=(id) x=(window.left) y=(window.top) width=(window.width)
                        height=(window.height) preserveAspectRatio="none" href=(address) {}
                    @for layer in &layers { g id={ (id) "-" (layer.key) } { (layer.svg) } }
                }
            }
            div class="viewer" {
                @for layer in &layers { (switch(&id, layer, starts_on(layer, screens, view))) }
                (frame.drawn("onscreen", &|_| true))
            }
            div class="pair" {
                div { (frame.drawn("onpaper", &|_| false)) p { "as photographed" } }
                @if layers.iter().any(on) { div { (frame.drawn("onpaper", &on)) p { "as measured: " (named(layers.iter().filter(|l| on(l)))) } } }
            }
            figcaption { (caption) @if view == View::Whole && !layers.is_empty() { span class="hint" { (page::SWITCH) } } @if view == View::Detail { " " (place(window, examined.photo.binning.by)) } }
            @if !layers.is_empty() { p class="aid" { (overlay::legend(&layers)) } }
        }
    }
}

/// Where the detail begins, in the file's pixels.
fn place(window: Window, binned_by: usize) -> String {
    format!(
        "It begins {} pixels from the left and {} from the top.",
        window.left * binned_by,
        window.top * binned_by
    )
}

fn named<'a>(layers: impl Iterator<Item = &'a Layer>) -> String {
    let titles: Vec<_> = layers.map(|l| l.title.to_owned()).collect();
    words::list(&titles)
}

/// Most screens whose grids are told apart where they lie over one another.
const MOST_GRIDS: usize = 2;

/// Whether a layer starts switched on, by the number of screens found: outlines in the detail, where they hide nothing;
/// where there are screens their directions and grids and not the hatching, for rows of dots pass for hatching too.
fn starts_on(layer: &Layer, screens: usize, view: View) -> bool {
    match (view, layer.key) {
        (View::Whole, "hatching") | (View::Detail, "marks") => screens == 0,
        (View::Whole, "lattice" | "field") => true,
        (View::Detail, "lattice") => screens <= MOST_GRIDS,
        _ => false,
    }
}

/// A switch for a layer.
fn switch(id: &str, layer: &Layer, on: bool) -> Markup {
    let name = format!("{id}-t-{}", layer.key);
    html! {
        input type="checkbox" id=(name) class={ "t t-" (layer.key) } checked[on];
        label for=(name) { span class={ "swatch " (layer.key) } {} (layer.title) }
    }
}

/// A picture with its layers, drawn from the stored parts.
struct Frame<'a> {
    id: &'a str,
    window: Window,
    layers: &'a [Layer],
    ruler: Markup,
}

impl Frame<'_> {
    /// With the layers asked for.
    fn drawn(&self, class: &str, with: &dyn Fn(&Layer) -> bool) -> Markup {
        let w = self.window;
        html! {
            svg class={ "frame " (class) } role="img" aria-label="photograph"
                viewBox={ (w.left) " " (w.top) " " (w.width) " " (w.height) } {
                use href={ "#" (self.id) } {}
                @for layer in self.layers {
                    @if with(layer) {
                        use class={ "o o-" (layer.key) } href={ "#" (self.id) "-" (layer.key) } {}
                    }
                }
                (self.ruler)
            }
        }
    }
}
