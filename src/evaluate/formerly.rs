//! Former addresses: each leads on to one page, and none is that of a page.

use crate::diagnostic::Diagnostic;
use crate::fault::{Fault, id};
use crate::library::guide::Guide;
use crate::library::{Faults, Library};
use crate::text::Spanned;

/// Every former address that is not one, is a page's own, or is given by two pages.
pub(super) fn check(library: &Library) -> Faults {
    let mut faults = Faults::new();
    let mut taken: Vec<(&str, &Guide)> = Vec::new();
    for guide in &library.guides {
        for former in &guide.formerly {
            let fault = check_one(former, library, &taken);
            faults.extend(fault.map(|fault| Diagnostic { file: guide.source.name.clone(), fault }));
            taken.push((&former.value, guide));
        }
    }
    faults
}

fn check_one(former: &Spanned<String>, library: &Library, taken: &[(&str, &Guide)]) -> Option<Fault> {
    let fault = |message: String| Fault::new(id::FORMERLY_TAKEN, former.span, message).found(former.value.clone());
    let parts: Vec<&str> = former.value.split('/').collect();
    let plain = |part: &&str| {
        !part.is_empty() && part.chars().all(|c| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '-' || c == '_')
    };
    if !matches!(parts[..], ["guides", _, _] | ["replies", _]) || !parts.iter().all(plain) {
        return Some(
            fault("this is no address at which a page stood".to_owned())
                .allowed("guides/TOPIC/NAME or replies/NAME, without an ending")
                .cure("write the page's old path below content/, without .md"),
        );
    }
    let page = format!("{}.html", former.value);
    if let Some(owner) = library.guides.iter().find(|guide| guide.page == page) {
        return Some(
            fault("a page stands at this address now".to_owned())
                .cure(format!("{} stands there now; take this address out", owner.source.name)),
        );
    }
    let (_, first) = taken.iter().find(|(address, _)| *address == former.value)?;
    Some(
        fault("two pages have this former address".to_owned())
            .cure(format!("{} has it too; leave one of the two out", first.source.name)),
    )
}
