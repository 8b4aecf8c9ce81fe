//! Marks: dots and flicks.

use super::Named;

/// Their titles.
pub const TITLES: &[Named] = &[
    (
        "density_per_mm2",
        "Marks per square millimetre",
        "of the usable field; those that blur has joined are counted apart",
    ),
    (
        "marked_area_density_per_mm2",
        "Marks per square millimetre where marks are",
        "bare paper and large solids left out; joined ones count as one",
    ),
    (
        "diameter_um",
        "Mark diameter",
        "of the circle with the same area",
    ),
    (
        "coverage",
        "Share of the field under marks",
        "0 = bare paper, 1 = solid",
    ),
    (
        "marked_area_coverage",
        "Share under marks where marks are",
        "0 = bare paper, 1 = solid",
    ),
    ("marked_share", "Share of the field that holds marks", ""),
    (
        "clark_evans",
        "Evenness of spacing (Clark–Evans index)",
        "1 = scattered at random, below 1 = bunched, towards 2.15 = evenly set",
    ),
    (
        "local_evenness",
        "Evenness of spacing beside the local tone",
        "1 = scattered at random, below 1 = bunched, towards 2 = evenly set",
    ),
    (
        "kept_distance_spacings",
        "Distance kept between dots",
        "0 = they do not keep apart",
    ),
    (
        "pair_peak",
        "Sharpness of the usual distance",
        "1 = no usual distance, above 3 = as in a lattice",
    ),
    (
        "row_order",
        "Dots set in rows",
        "0 = no rows, 1 = exact rows",
    ),
    ("elongation", "Length of dots over their width", "1 = round"),
    (
        "circularity",
        "Roundness of dots",
        "1 = round, less for long or ragged ones",
    ),
    (
        "flick_share",
        "Share of flicks",
        "dots longer than 1.6 times their width",
    ),
    ("size_spread", "Spread of mark sizes", "×1 = all alike"),
    (
        "neighbour_size_spread",
        "Spread of sizes side by side",
        "the part that is not tone; ×1 = neighbours alike",
    ),
    (
        "touching_ratio",
        "Touching marks",
        "count with those parted that blur joined, over plain count; 1 = none",
    ),
    (
        "ink_rim",
        "Ink at the rim of marks",
        "rim over middle; ×1 = even, above = squeezed to the rim",
    ),
    (
        "ink_breadth_um",
        "Breadth of the ink",
        "along its middle: of lines, dots and solids, each by its length",
    ),
    (
        "gap_breadth_um",
        "Breadth of the gaps in the ink",
        "along their middle",
    ),
    (
        "ink_deepening",
        "How much darker broad ink is",
        "power of its breadth; 0 = one thickness of ink everywhere",
    ),
    (
        "ink_unevenness",
        "Unevenness of solid ink",
        "from place to place, as a share of its density",
    ),
    (
        "solidity",
        "Solidity of the wider dots",
        "1 = whole blobs, less = hollow networks",
    ),
    (
        "solidity_low",
        "Solidity of the least solid quarter",
        "of the ink of the wider dots",
    ),
    (
        "alignment",
        "Long dots pointing the way of their neighbours",
        "1 = all one way, 0 = any way",
    ),
    (
        "ink_in_dots",
        "Share of ink in dots",
        "the rest lies in outlines and solids",
    ),
    (
        "diameter_over_blur",
        "Dot diameter over blur",
        "under 3 the sizes are blurred",
    ),
];
