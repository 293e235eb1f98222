//! What a bike lends a formula: `--bike roadster`.
//!
//! An input finds its value by equal name and kind, in this order: what was measured on the bike under the input's own
//! name; then an attribute of a part under its whole name, the part's key and the attribute (`crank_length` is the `length`
//! of the `crank`). An attribute's bare name is never enough: the `mass` of a child seat is no rider's. Neither is a name
//! without its end where a bicycle has such a part at each: of `tyre_width` it is only told that `front_tyre.width` and
//! `rear_tyre.width` could be meant, and somebody says which. `tests/counter.rs` holds the list of all that is lent so.

use crate::evaluate::names::{Named, Names};
use crate::fault::{Fault, id};
use crate::library::Library;
use crate::library::bike::{BuildSheet, Fitted};
use crate::library::shelf::Shelf;
use crate::mechanics::formula::Input;
use crate::text::Mapped;

/// A bike that lends its values.
#[derive(Debug)]
pub(super) struct Lender<'l> {
    /// The bike.
    pub(super) bike: &'l BuildSheet,
    shelf: &'l Shelf,
}

/// What a bike has for an input.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(super) enum Loan {
    /// Nothing of its name and kind.
    Nothing,
    /// The name of its value: `roadster.chainstay`.
    One(String),
    /// Values that could be meant, by name; which is for somebody to say.
    Perhaps(Vec<String>),
}

impl<'l> Lender<'l> {
    /// The bike that a word names.
    ///
    /// # Errors
    /// A word that is the name of none.
    pub(super) fn of(word: &Mapped, library: &'l Library) -> Result<Self, Fault> {
        let name = word.text().trim();
        if let Some(bike) = library.bikes.iter().find(|bike| bike.name == name) {
            return Ok(Self { bike, shelf: &library.shelf });
        }
        let names = || library.bikes.iter().map(|bike| bike.name.as_str());
        let fault = Fault::new(id::UNKNOWN_BIKE, word.whole(), format!("there is no build sheet called {name}"));
        let fault = fault.found(name).nearest(name, names(), "name a file of content/bikes, without its ending");
        let all = names().collect::<Vec<_>>().join(", ");
        Err(if all.is_empty() { fault } else { fault.allowed(all) })
    }

    /// What the bike has for an input.
    pub(super) fn loan(&self, input: &Input, names: &Names) -> Loan {
        let own = |name: &str| format!("{}.{name}", self.bike.name);
        let measured = own(&input.name);
        if self.bike.measure(&input.name).is_some() && names.get(&measured).is_some_and(|named| fits(input, named)) {
            return Loan::One(measured);
        }
        let known = |name: &String| names.get(&own(name)).is_some();
        let meant = self.bike.parts.iter().filter_map(|fitted| self.attribute(fitted, input));
        let mut meant: Vec<(bool, String)> = meant.filter(|(_, name)| known(name)).collect();
        meant.sort_by_key(|(is_whole, _)| !is_whole);
        match &meant[..] {
            [] => Loan::Nothing,
            [(true, name)] => Loan::One(own(name)),
            all => Loan::Perhaps(all.iter().map(|(_, name)| own(name)).collect()),
        }
    }

    /// `front_tyre.width`, where the input's name is that of an attribute of this part, and of its kind; and whether
    /// it is its whole name.
    fn attribute(&self, fitted: &Fitted, input: &Input) -> Option<(bool, String)> {
        let (place, family) = fitted.sort(&self.shelf.rules);
        let family = self.shelf.rules.family(family)?;
        let key = fitted.key.value.as_str();
        let is_of = |of: &str, attribute: &str| input.name == format!("{of}_{attribute}");
        let attribute = family
            .attributes
            .iter()
            .find(|attribute| !attribute.many && (is_of(key, &attribute.name) || is_of(&family.id, &attribute.name)))?;
        let own = attribute.number()?;
        let is_alike = own.kind.name == input.kind.name && (own.unit == input.unit || !own.unit.is_label());
        let is_whole = is_of(key, &attribute.name) && family.places == place.is_some();
        is_alike.then(|| (is_whole, format!("{key}.{}", attribute.name)))
    }
}

/// True where a measured value is of the input's kind: what it measures, its label, and a value rather than a limit.
fn fits(input: &Input, named: &Named) -> bool {
    let unit = &named.style.unit;
    let is_value = named.bounds.lo.is_finite() && named.bounds.hi.is_finite();
    // Plain numbers carry no kind of their own: only their signs tell teeth from links from a percentage.
    let is_alike = if input.kind.dimension.is_none() {
        unit.text == input.unit.text || unit.text.is_empty() && input.unit.is_label()
    } else {
        input.kind.takes(unit)
    };
    is_value && is_alike
}
