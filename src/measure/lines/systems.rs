//! Growing ripples of neighbouring windows into systems: lines that run on from window to window
//! with a steady or slowly drifting direction and spacing.

use super::continuity;
use super::ripple::{Layer, Ripple, Window};
use std::collections::{BTreeMap, HashMap};

/// Least share of a window's line power in a wave that may found a system: waves by chance in
/// strewn dots seldom hold more (a window has a score of independent waves in the band).
pub(super) const MIN_SHARE: f64 = 0.2;
/// Least share of a wave that may be added to a founded system, for lines broken into dashes.
const ADDED_SHARE: f64 = 0.1;
/// Largest change of the frequency vector towards an added wave: tighter than [`DRIFT`], as broken
/// lines show false directions along their rows of dashes.
const ADDED_DRIFT: f64 = 0.1;
/// Rounds in which waves are added: how many half windows a system reaches into its broken lights.
const ADDED_ROUNDS: usize = 3;
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
    let field = Waves::new(layers);
    let mut forest = Forest::new(field.nodes.len());
    for (i, j) in continuity::links(&field, DRIFT) {
        forest.join(i, j);
    }
    link_between_layers(&field, &mut forest);
    let windows: usize = layers.iter().map(|layer| layer.windows.len()).sum();
    let mut founded: Vec<(Vec<usize>, Significance)> = forest
        .trees()
        .into_values()
        .filter_map(|mut members| {
            members.retain(|&i| field.founds(i));
            let ripples: Vec<Ripple> = members.iter().map(|&i| field.nodes[i].ripple).collect();
            Some((members, significance(&ripples, windows)?))
        })
        .collect();
    add_faint(&field, &mut founded);
    let mut groups: Vec<Group> = founded
        .into_iter()
        .map(|(members, significance)| group(&field, &members, significance))
        .collect();
    groups.sort_by(|a, b| b.area_px2().total_cmp(&a.area_px2()));
    groups
}

/// A wave and the window that holds it.
pub(super) struct Node<'a> {
    pub(super) window: &'a Window,
    pub(super) ripple: Ripple,
}

/// All waves with their places.
pub(super) struct Waves<'a> {
    pub(super) layers: &'a [Layer],
    pub(super) nodes: Vec<Node<'a>>,
    places: HashMap<Place, Vec<usize>>,
}

/// Layer, row and column of a window.
pub(super) type Place = (usize, i64, i64);

pub(super) fn place(window: &Window) -> Place {
    (window.layer, window.row as i64, window.column as i64)
}

impl<'a> Waves<'a> {
    fn new(layers: &'a [Layer]) -> Self {
        let nodes: Vec<Node> = layers
            .iter()
            .flat_map(|layer| &layer.windows)
            .flat_map(|window| {
                window
                    .ripples
                    .iter()
                    .map(move |&ripple| Node { window, ripple })
            })
            .filter(|node| node.ripple.share >= ADDED_SHARE)
            .collect();
        let mut places: HashMap<Place, Vec<usize>> = HashMap::new();
        for (i, node) in nodes.iter().enumerate() {
            places.entry(place(node.window)).or_default().push(i);
        }
        Self {
            layers,
            nodes,
            places,
        }
    }

    /// Whether a wave is strong enough to found a system.
    pub(super) fn founds(&self, i: usize) -> bool {
        self.nodes[i].ripple.share >= MIN_SHARE && self.nodes[i].ripple.strong
    }

    /// The wave at a place that agrees best with wave `i`, if one agrees within `limit`.
    pub(super) fn best(&self, i: usize, at: Place, limit: f64) -> Option<usize> {
        self.places
            .get(&at)?
            .iter()
            .map(|&j| (drift(&self.nodes[i].ripple, &self.nodes[j].ripple), j))
            .filter(|&(d, _)| d <= limit)
            .min_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)))
            .map(|(_, j)| j)
    }

    /// The wave that carries `i` on by some windows.
    pub(super) fn onward(&self, i: usize, (down, right): (i64, i64), limit: f64) -> Option<usize> {
        let (layer, row, column) = place(self.nodes[i].window);
        self.best(i, (layer, row + down, column + right), limit)
    }
}

/// Length of the difference of two frequency vectors over their mean length, whichever way round
/// the half planes put them.
fn drift(a: &Ripple, b: &Ripple) -> f64 {
    let apart = (a.fx - b.fx).hypot(a.fy - b.fy);
    let turned = (a.fx + b.fx).hypot(a.fy + b.fy);
    2.0 * apart.min(turned) / (a.frequency() + b.frequency())
}

/// Joins each wave of a coarser layer to the wave in the middle of its window that agrees.
fn link_between_layers(field: &Waves, forest: &mut Forest) {
    for (i, node) in field.nodes.iter().enumerate() {
        let Some(finer) = node.window.layer.checked_sub(1) else {
            continue;
        };
        let layer = &field.layers[finer];
        let near = |v: f64| ((v - layer.side_px / 2.0) / layer.stride_px).round() as i64;
        let at = (finer, near(node.ripple.y), near(node.ripple.x));
        if let Some(j) = field.best(i, at, LAYER_DRIFT)
            && field.founds(i)
            && field.founds(j)
        {
            forest.join(i, j);
        }
    }
}

/// Adds to each system, round by round, the fainter waves next to it that carry it on.
fn add_faint(field: &Waves, founded: &mut [(Vec<usize>, Significance)]) {
    let mut owner: Vec<Option<usize>> = vec![None; field.nodes.len()];
    for (g, (members, _)) in founded.iter().enumerate() {
        for &i in members {
            owner[i] = Some(g);
        }
    }
    for _ in 0..ADDED_ROUNDS {
        let added: Vec<(usize, usize)> = (0..owner.len())
            .filter(|&i| owner[i].is_none())
            .filter_map(|i| Some((i, neighbouring_owner(field, &owner, i)?)))
            .collect();
        if added.is_empty() {
            break;
        }
        for (i, g) in added {
            owner[i] = Some(g);
            founded[g].0.push(i);
        }
    }
}

/// The system among the neighbouring windows that wave `i` carries on best.
fn neighbouring_owner(field: &Waves, owner: &[Option<usize>], i: usize) -> Option<usize> {
    (-1..=1)
        .flat_map(|down| (-1..=1).map(move |right| (down, right)))
        .filter_map(|step| {
            let j = field.onward(i, step, ADDED_DRIFT)?;
            let d = drift(&field.nodes[i].ripple, &field.nodes[j].ripple);
            Some((d, owner[j]?))
        })
        .min_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)))
        .map(|(_, g)| g)
}

/// How sure it is that a system is none of chance.
#[derive(Clone, Copy, Debug)]
struct Significance {
    independent: usize,
    false_alarm_log10: f64,
}

/// Nothing when chance would make such a system too often.
fn significance(ripples: &[Ripple], windows: usize) -> Option<Significance> {
    let independent = independent(ripples);
    let links = independent.saturating_sub(1) as f64;
    let false_alarm_log10 =
        (windows.max(1) as f64).log10() + links * (NEIGHBOURS * CHANCE_LINK).log10();
    (independent >= MIN_INDEPENDENT && false_alarm_log10 <= MAX_FALSE_ALARM_LOG10).then_some(
        Significance {
            independent,
            false_alarm_log10,
        },
    )
}

fn group(field: &Waves, members: &[usize], significance: Significance) -> Group {
    let nodes: Vec<&Node> = members.iter().map(|&i| &field.nodes[i]).collect();
    let cell = field.layers.first().map_or(1.0, |layer| layer.stride_px);
    Group {
        cells: cells(&nodes, field.layers, cell),
        cell_px2: cell * cell,
        independent: significance.independent,
        false_alarm_log10: significance.false_alarm_log10,
        ripples: nodes.iter().map(|node| node.ripple).collect(),
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
