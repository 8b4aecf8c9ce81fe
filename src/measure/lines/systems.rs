//! Growing ripples of neighbouring windows into systems: lines that run on from window to window
//! with a steady or slowly drifting direction and spacing.

use super::ripple::{Layer, Ripple, Window};
use std::collections::{BTreeMap, HashMap};

/// Least share of a window's line power in a wave that may join a system.
pub(super) const MIN_SHARE: f64 = 0.2;
/// Largest change of the frequency vector between neighbouring windows, as a share of its
/// length: 0.15 is 8.6° of turn or 15 % of spacing over half a window (2 to 4 lines).
const DRIFT: f64 = 0.15;
/// The same between layers, where the windows lie over one another and should agree better.
const LAYER_DRIFT: f64 = 0.1;
/// Windows that share no pixel are independent; below this many a system is not called one.
const MIN_INDEPENDENT: usize = 3;
/// Chance that a window of random texture passes [`MIN_SHARE`] and agrees with a given
/// neighbour within [`DRIFT`]: the drift disc covers 3 % of the band's half ring, and some
/// waves of random texture pass in one window of three.
const CHANCE_LINK: f64 = 0.01;
/// Neighbours a window may link to.
const NEIGHBOURS: f64 = 8.0;
/// Largest expected number of chance systems per photograph at which a system is kept.
const MAX_FALSE_ALARM_LOG10: f64 = -2.0;

/// A window whose centre lies on the border of a system shows half the amplitude of its neighbours
/// inside; fainter ones lie outside.
const BORDER_AMPLITUDE: f64 = 0.5;

/// A patch of the field with the mean frequency vector of a system in it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Cell {
    /// Centre, px.
    pub(super) x: f64,
    /// Centre, px.
    pub(super) y: f64,
    /// Mean frequency vector, cycles per px, y down, half plane as in [`Ripple`].
    pub(super) fx: f64,
    /// See `fx`.
    pub(super) fy: f64,
}

/// A system before it is put into figures.
#[derive(Clone, Debug)]
pub(super) struct Group {
    /// Its waves.
    pub(super) ripples: Vec<Ripple>,
    /// The field it covers, in cells of equal area.
    pub(super) cells: Vec<Cell>,
    /// Area of a cell, px².
    pub(super) cell_px2: f64,
    /// Windows that share no pixel with one another.
    pub(super) independent: usize,
    /// log10 of the number of such systems expected by chance.
    pub(super) false_alarm_log10: f64,
}

impl Group {
    /// Covered area, px².
    pub(super) fn area_px2(&self) -> f64 {
        self.cells.len() as f64 * self.cell_px2
    }
}

/// Grows and sifts the systems, largest area first.
pub(super) fn grow(layers: &[Layer]) -> Vec<Group> {
    let nodes = nodes(layers);
    let mut forest = Forest::new(nodes.len());
    link_within_layers(&nodes, layers, &mut forest);
    link_between_layers(&nodes, layers, &mut forest);
    let windows: usize = layers.iter().map(|layer| layer.windows.len()).sum();
    let cell = layers.first().map_or(1.0, |layer| layer.stride_px);
    let mut groups: Vec<Group> = forest
        .trees()
        .into_values()
        .map(|members| {
            let members: Vec<&Node> = members.into_iter().map(|i| &nodes[i]).collect();
            group(&members, layers, cell, windows)
        })
        .filter(|g| {
            g.independent >= MIN_INDEPENDENT && g.false_alarm_log10 <= MAX_FALSE_ALARM_LOG10
        })
        .collect();
    groups.sort_by(|a, b| b.area_px2().total_cmp(&a.area_px2()));
    groups
}

/// A wave and the window that holds it.
struct Node<'a> {
    window: &'a Window,
    ripple: Ripple,
}

fn nodes(layers: &[Layer]) -> Vec<Node<'_>> {
    layers
        .iter()
        .flat_map(|layer| &layer.windows)
        .flat_map(|window| {
            window
                .ripples
                .iter()
                .map(move |&ripple| Node { window, ripple })
        })
        .filter(|node| node.ripple.share >= MIN_SHARE)
        .collect()
}

/// Length of the difference of two frequency vectors over their mean length, whichever way round
/// the half planes put them.
fn drift(a: &Ripple, b: &Ripple) -> f64 {
    let apart = (a.fx - b.fx).hypot(a.fy - b.fy);
    let turned = (a.fx + b.fx).hypot(a.fy + b.fy);
    2.0 * apart.min(turned) / (a.frequency() + b.frequency())
}

type Places = HashMap<(usize, usize, usize), Vec<usize>>;

fn places(nodes: &[Node]) -> Places {
    let mut places = Places::new();
    for (i, node) in nodes.iter().enumerate() {
        let at = (node.window.layer, node.window.row, node.window.column);
        places.entry(at).or_default().push(i);
    }
    places
}

/// The wave at a place that agrees best, if any agrees within `limit`.
fn best(nodes: &[Node], here: &Ripple, at: Option<&Vec<usize>>, limit: f64) -> Option<usize> {
    at?.iter()
        .map(|&j| (drift(here, &nodes[j].ripple), j))
        .filter(|&(d, _)| d <= limit)
        .min_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)))
        .map(|(_, j)| j)
}

fn link_within_layers(nodes: &[Node], layers: &[Layer], forest: &mut Forest) {
    let places = places(nodes);
    for (i, node) in nodes.iter().enumerate() {
        let w = node.window;
        let ahead = [(0i64, 1i64), (1, -1), (1, 0), (1, 1)];
        for (down, right) in ahead {
            let Some(column) = w.column.checked_add_signed(right as isize) else {
                continue;
            };
            let at = (w.layer, w.row + down as usize, column);
            // Sparse windows of large photos lie further apart and may drift further.
            let reach = (2.0 * layers[w.layer].stride_px / node.ripple.side_px).max(1.0);
            let limit = DRIFT * reach.min(1.5);
            if let Some(j) = best(nodes, &node.ripple, places.get(&at), limit) {
                forest.join(i, j);
            }
        }
    }
}

fn link_between_layers(nodes: &[Node], layers: &[Layer], forest: &mut Forest) {
    let places = places(nodes);
    for (i, node) in nodes.iter().enumerate() {
        let coarse = &node.ripple;
        let Some(finer) = node.window.layer.checked_sub(1) else {
            continue;
        };
        let stride = layers[finer].stride_px;
        let near = |v: f64| ((v - coarse.side_px / 4.0) / stride).round().max(0.0) as usize;
        let (row, column) = (near(coarse.y), near(coarse.x));
        for r in row.saturating_sub(1)..=row + 1 {
            for c in column.saturating_sub(1)..=column + 1 {
                let at = places.get(&(finer, r, c));
                if let Some(j) = best(nodes, coarse, at, LAYER_DRIFT) {
                    forest.join(i, j);
                }
            }
        }
    }
}

fn group(members: &[&Node], layers: &[Layer], cell: f64, windows: usize) -> Group {
    let ripples: Vec<Ripple> = members.iter().map(|node| node.ripple).collect();
    let independent = independent(&ripples);
    let links = independent.saturating_sub(1) as f64;
    Group {
        cells: cells(members, layers, cell),
        cell_px2: cell * cell,
        independent,
        false_alarm_log10: (windows.max(1) as f64).log10()
            + links * (NEIGHBOURS * CHANCE_LINK).log10(),
        ripples,
    }
}

/// Greedy count of windows that share no pixel.
fn independent(ripples: &[Ripple]) -> usize {
    let mut chosen: Vec<&Ripple> = Vec::new();
    for ripple in ripples {
        let clear = |other: &&Ripple| {
            (ripple.x - other.x).abs().max((ripple.y - other.y).abs())
                >= 0.5 * (ripple.side_px + other.side_px) - 1.0
        };
        if chosen.iter().all(clear) {
            chosen.push(ripple);
        }
    }
    chosen.len()
}

/// Paints each window's share of the field on a common grid; where layers overlap the frequency
/// vectors are averaged.
fn cells(members: &[&Node], layers: &[Layer], cell: f64) -> Vec<Cell> {
    let mut grid: BTreeMap<(i64, i64), (f64, f64, f64)> = BTreeMap::new();
    let loudest = loudest_nearby(members);
    for (node, loudest) in members.iter().zip(loudest) {
        if node.ripple.amplitude < BORDER_AMPLITUDE * loudest {
            continue;
        }
        let r = &node.ripple;
        let half = layers[node.window.layer].stride_px / 2.0;
        let span = |v: f64| {
            let first = ((v - half) / cell).round() as i64;
            first..first + (2.0 * half / cell).round().max(1.0) as i64
        };
        for row in span(r.y) {
            for column in span(r.x) {
                let sum = grid.entry((row, column)).or_default();
                let sign = if sum.0 * r.fx + sum.1 * r.fy < 0.0 {
                    -1.0
                } else {
                    1.0
                };
                sum.0 += sign * r.fx;
                sum.1 += sign * r.fy;
                sum.2 += 1.0;
            }
        }
    }
    grid.into_iter()
        .map(|((row, column), (fx, fy, n))| Cell {
            x: (column as f64 + 0.5) * cell,
            y: (row as f64 + 0.5) * cell,
            fx: fx / n,
            fy: fy / n,
        })
        .collect()
}

/// For each member the largest amplitude among itself and its neighbours in the layer.
fn loudest_nearby(members: &[&Node]) -> Vec<f64> {
    let at: HashMap<(usize, i64, i64), f64> = members
        .iter()
        .map(|node| (place(node.window), node.ripple.amplitude))
        .collect();
    let loudest = |node: &&Node| {
        let (layer, row, column) = place(node.window);
        (-1..=1)
            .flat_map(|r| (-1..=1).map(move |c| (layer, row + r, column + c)))
            .filter_map(|place| at.get(&place))
            .fold(0.0, |most: f64, &amplitude| most.max(amplitude))
    };
    members.iter().map(loudest).collect()
}

fn place(window: &Window) -> (usize, i64, i64) {
    (window.layer, window.row as i64, window.column as i64)
}

/// Disjoint sets.
struct Forest {
    parent: Vec<usize>,
}

impl Forest {
    fn new(count: usize) -> Self {
        Self {
            parent: (0..count).collect(),
        }
    }

    fn root(&mut self, mut i: usize) -> usize {
        while self.parent[i] != i {
            self.parent[i] = self.parent[self.parent[i]];
            i = self.parent[i];
        }
        i
    }

    fn join(&mut self, a: usize, b: usize) {
        let (a, b) = (self.root(a), self.root(b));
        self.parent[a.max(b)] = a.min(b);
    }

    fn trees(&mut self) -> BTreeMap<usize, Vec<usize>> {
        let mut trees: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
        for i in 0..self.parent.len() {
            trees.entry(self.root(i)).or_default().push(i);
        }
        trees
    }
}
