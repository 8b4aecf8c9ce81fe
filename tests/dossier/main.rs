//! Dossiers: the command as a user meets it, tampering, and what outlasts kills and power cuts.

mod chain;
mod command;
mod copies;
mod desk;
mod durability;
mod exports;
mod forging;
mod killing;
mod left_out;
mod linked_art;
mod model;
mod replacing;
mod small;
mod tampering;
mod unreadable;
