//! Locknut publishes a bicycle workshop's own illustrated service guides, with every figure worked out at each press.
//!
//! The modules, in the order in which a guide travels:

/// One file per command, thin.
pub mod commands;
/// Faults drawn for people and as data.
pub mod diagnostic;
/// Figures to drawings.
pub mod drawing;
/// Sheets to the files of one form of the library.
pub mod editions;
/// Guide and library to worked guide: names looked up, figures worked, limits held.
pub mod evaluate;
/// What went wrong, where, and what to do.
pub mod fault;
/// Finding a sheet: the library's lines and the finder in one script.
pub mod finding;
/// What the shop wrote, read and parsed.
pub mod library;
/// What every word of the program and its files means.
pub mod meaning;
/// The engine: formulas, units, bounds; knows no guide, file or page.
pub mod mechanics;
/// Files to a site on the disk, all or nothing.
pub mod press;
/// Published figures as signed, what differs from them, and accepting it.
pub mod register;
/// Worked guides and theme to pages.
pub mod setting;
/// A library kept open while somebody edits.
pub mod stand;
/// Text that knows where in the file it came from.
pub mod text;
/// YAML with places, read strictly.
pub mod yaml;

/// The files that the binary carries, as the build script lists them.
pub mod bundled {
    include!(concat!(env!("OUT_DIR"), "/bundled.rs"));
}
