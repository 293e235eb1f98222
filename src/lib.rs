//! Locknut publishes a bicycle workshop's own illustrated service guides, with every figure worked out at each press.
//!
//! The modules, in the order in which a guide travels:

/// One file per command, thin.
pub mod commands;
/// Faults drawn for people and as data.
pub mod diagnostic;
/// What went wrong, where, and what to do.
pub mod fault;
/// The engine: formulas, units, bounds; knows no guide, file or page.
pub mod mechanics;
/// Text that knows where in the file it came from.
pub mod text;
/// YAML with places, read strictly.
pub mod yaml;

/// The files that the binary carries, as the build script lists them.
pub mod bundled {
    include!(concat!(env!("OUT_DIR"), "/bundled.rs"));
}
