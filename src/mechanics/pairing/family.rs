//! A family of parts as a datasheet: what is asked of each part, what it means, and how it is measured.
//!
//! ```yaml
//! id: rear_derailleur           # snake_case, the name in rules; a shelf file is called after it
//! title: Rear derailleur
//! about: carries the chain from sprocket to sprocket and takes up its slack
//! places: true                  # where a bicycle may have one at each end: front and rear
//! attributes:
//!   - {name: capacity, kind: count, unit: tooth, range: [1, 90], about: …, how: …}
//!   - {name: hanger, kind: word, one_of: [direct, bolted], about: …, how: …}
//!   - {name: clutch, kind: yes_no, about: …, how: …}
//!   - {name: speeds, kind: count, unit: "", range: [1, 14], many: true, about: …, how: …}
//! ```
//! `kind` is one of the table of kinds, or `word`, or `yes_no`. `many: true` makes a list. `role: torque` or
//! `role: wear` puts an attribute into the torque list or the wear limits of a build sheet. `how` says how it is
//! measured or where it is read, for whoever does not know it.

use super::keys;
use crate::fault::{Fault, id};
use crate::mechanics::formula::Input;
use crate::mechanics::load::check_name;
use crate::mechanics::load_parts::{measure, range, sentence};
use crate::mechanics::units::Kind;
use crate::text::{Mapped, Spanned};
use crate::yaml::{self, Fields, Node};

/// A family of parts.
#[derive(Clone, Debug)]
pub struct Family {
    /// The name in rules and files.
    pub id: String,
    /// The name for people, in the singular.
    pub title: String,
    /// What such a part does.
    pub about: String,
    /// True where a bicycle may have one at the front and one at the rear.
    pub places: bool,
    /// What is asked of each part.
    pub attributes: Vec<Attribute>,
}

/// One attribute of a family.
#[derive(Clone, Debug)]
pub struct Attribute {
    /// The name in rules and files.
    pub name: String,
    /// What a value of it is.
    pub sort: Sort,
    /// True where a part has a list of them.
    pub many: bool,
    /// What it means.
    pub about: String,
    /// How it is measured, or where it is read.
    pub how: String,
    /// The list of a build sheet that it belongs to.
    pub role: Option<Role>,
}

/// What a value of an attribute is.
#[derive(Clone, Debug)]
pub enum Sort {
    /// A number with its kind, unit and range, held to them as the input of a formula is.
    Number(Box<Input>),
    /// A word; one of a list where the list is not empty.
    Word(Vec<String>),
    /// Yes or no.
    YesNo,
}

/// The lists of a build sheet that an attribute may belong to.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Role {
    /// The torque list.
    Torque,
    /// The wear limits.
    Wear,
}

impl Family {
    /// The attribute with this name.
    #[must_use]
    pub fn attribute(&self, name: &str) -> Option<&Attribute> {
        self.attributes.iter().find(|attribute| attribute.name == name)
    }
}

impl Attribute {
    /// The kind of a number; `None` of a word, and of yes and no.
    #[must_use]
    pub fn number(&self) -> Option<&Input> {
        if let Sort::Number(input) = &self.sort { Some(input) } else { None }
    }
}

/// Reads a family that comes with the program from the text of its file.
///
/// # Errors
/// All that is wrong with it.
pub fn load(text: &Mapped) -> Result<Family, Vec<Fault>> {
    let node = yaml::parse_bundled(text)?;
    let mut faults = Vec::new();
    let family = read(&node, &mut faults);
    family.filter(|_| faults.is_empty()).ok_or(faults)
}

/// Reads a family from its node.
pub fn read(node: &Node, faults: &mut Vec<Fault>) -> Option<Family> {
    let fields = Fields::of(node, &keys::FAMILY, faults)?;
    let mut taken: Vec<String> = Vec::new();
    let mut attributes = Vec::new();
    for node in fields.list("attributes", faults) {
        if let Some(attribute) = attribute(node, faults) {
            let name = Spanned::new(attribute.name.clone(), node.get("name").map_or(node.span, |name| name.span));
            faults.extend(check_name(&name, &taken));
            taken.push(attribute.name.clone());
            attributes.push(attribute);
        }
    }
    let word = fields.need_text("id", faults)?;
    faults.extend(check_name(&Spanned::new(word.text().to_owned(), word.whole()), &[]));
    Some(Family {
        id: word.text().to_owned(),
        title: sentence(&fields, "title", faults)?,
        about: sentence(&fields, "about", faults)?,
        places: fields.flag("places", faults).unwrap_or(false),
        attributes,
    })
}

fn attribute(node: &Node, faults: &mut Vec<Fault>) -> Option<Attribute> {
    let fields = Fields::of(node, &keys::ATTRIBUTE, faults)?;
    let name = fields.need_text("name", faults)?.text().to_owned();
    let about = sentence(&fields, "about", faults)?;
    let how = sentence(&fields, "how", faults)?;
    let kind = fields.need_text("kind", faults)?;
    let sort = match kind.text() {
        "word" => Sort::Word(
            fields.list("one_of", faults).iter().filter_map(|node| Some(node.text()?.text().to_owned())).collect(),
        ),
        "yes_no" => Sort::YesNo,
        _ => Sort::Number(Box::new(number(&fields, &name, &how, faults)?)),
    };
    let many = fields.flag("many", faults).unwrap_or(false);
    if many && matches!(sort, Sort::YesNo) {
        faults.push(
            Fault::new(id::WRONG_SHAPE, node.span, format!("{name} is yes or no, and can't be many"))
                .cure("leave many out"),
        );
    }
    let role = match fields.text("role", faults).map(Mapped::text) {
        None => None,
        Some("torque") => Some(Role::Torque),
        Some("wear") => Some(Role::Wear),
        Some(word) => {
            let span = fields.get("role").map_or(node.span, |node| node.span);
            let fault = Fault::new(id::UNKNOWN_WORD, span, format!("no list of a build sheet is called {word}"));
            faults.push(fault.found(word).allowed("torque, wear").cure("use one of these, or leave role out"));
            None
        }
    };
    Some(Attribute { name, sort, many, about, how, role })
}

/// A number's kind, unit and range, as an input that reads its values.
fn number(fields: &Fields<'_>, name: &str, how: &str, faults: &mut Vec<Fault>) -> Option<Input> {
    let (kind, unit): (&'static Kind, _) = measure(fields, faults)?;
    let (low, high) = range(fields, name, faults)?;
    let (name, about) = (name.to_owned(), how.to_owned());
    Some(Input { symbol: String::new(), default: None, name, kind, unit, low, high, about })
}
