//! Dossiers: the command as a user meets it, tampering, and what outlasts kills and power cuts.

mod command;
mod durability;
mod tampering;
