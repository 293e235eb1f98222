//! The press against bad luck: stopped at any moment, on a full disk, beside another press, there is a whole site.
//!
//! A site is whole where every file that its marker names is there with the hash that the marker gives, and no other.

use crate::folder::{Folder, MARKER, PROGRAM, command, err};
use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

/// A new library of the starter's pages.
fn library(name: &str) -> Folder {
    let library = Folder::laid_down(&format!("press-{name}"));
    // The handbook's pages and the editions are made like the others, and hundreds of presses are quicker without.
    library.change("content/shop.yaml", "handbook: true", "handbook: false");
    library.change("content/shop.yaml", "[site, book, sheets, zip]", "[site]");
    library
}

/// A library of a few small pages, for what takes hundreds of presses.
fn small(name: &str) -> Folder {
    let library = library(name);
    for part in ["guides", "replies", "bikes", "faults", "shelf", "photos", "formulas"] {
        fs::remove_dir_all(library.0.join("content").join(part)).expect("the starter has it");
    }
    // What was signed belongs to sheets that are gone.
    fs::remove_file(library.0.join("content/register.yaml")).expect("the starter is signed");
    library.change("content/shop.yaml", "arrangement: roadster\n", "");
    for number in ["901", "902", "903"] {
        let guide = include_str!("mistakes/sound.md").replace("DT-900", &format!("DT-{number}"));
        library.write(&format!("content/guides/drivetrain/chain-{number}.md"), guide);
    }
    library
}

/// Presses into the library's own folder, and gives where.
fn pressed(library: &Folder) -> PathBuf {
    library.done(&["press"]);
    library.0.join("pressed")
}

/// The press of one library over a site that may be another's.
fn press(library: &Folder, into: &Path) -> Command {
    let mut press = command(&library.0, &["press", "--into"]);
    press.arg(into);
    press
}

fn done(mut press: Command) {
    let output = press.output().expect("it runs");
    assert_eq!(output.status.code(), Some(0), "{}", err(&output));
}

/// The edition of a whole site.
fn whole(site: &Path) -> Result<String, String> {
    let marker = fs::read_to_string(site.join(MARKER)).map_err(|error| format!("no marker: {error}"))?;
    let mut lines = marker.lines();
    let edition = lines.next().ok_or("an empty marker")?.to_owned();
    let mut named = BTreeSet::from([MARKER.to_owned()]);
    for line in lines {
        let (hash, path) = line.split_once("  ").ok_or("a line without a path")?;
        let bytes = fs::read(site.join(path)).map_err(|error| format!("{path}: {error}"))?;
        if blake3::hash(&bytes).to_hex().as_str() != hash {
            return Err(format!("{path} is not what the marker says"));
        }
        named.insert(path.to_owned());
    }
    let there: BTreeSet<String> = walkdir::WalkDir::new(site)
        .into_iter()
        .map(|entry| entry.expect("an entry"))
        .filter(|entry| entry.file_type().is_file())
        .map(|entry| entry.path().strip_prefix(site).expect("below").to_string_lossy().into_owned())
        .collect();
    if there == named { Ok(edition) } else { Err(format!("other files than the marker names: {there:?}")) }
}

#[test]
fn stopped_at_any_moment_there_is_a_whole_site() {
    stopped_at_any_moment(7, "Ennismouth", "Ennisford");
}

/// The other half, beside the first: here only words change, so that each press borrows the last one's pictures.
#[test]
fn stopped_at_any_other_moment_there_is_a_whole_site() {
    stopped_at_any_moment(8, "Ring before you come", "Ring first");
}

fn stopped_at_any_moment(seed: u64, words: &str, others: &str) {
    let (one, other) = (small("one"), small("other"));
    other.change("content/shop.yaml", words, others);
    let target = one.0.join("site");
    done(press(&other, &target));
    let second = whole(&target).expect("a whole site");
    // What a press takes depends on the pictures that the last site lends it, and on what runs beside it.
    let timed = |library: &Folder| {
        let began = Instant::now();
        done(press(library, &target));
        began.elapsed()
    };
    let takes = timed(&one).max(timed(&other)).max(timed(&one));
    let first = whole(&target).expect("a whole site");
    assert_ne!(first, second);
    let mut rng = fastrand::Rng::with_seed(seed);
    let (mut stopped, mut found) = (0, BTreeSet::new());
    for round in 0..250 {
        let library = if round % 2 == 0 { &other } else { &one };
        let mut child = press(library, &target).stdout(Stdio::null()).stderr(Stdio::null()).spawn().expect("it runs");
        std::thread::sleep(Duration::from_micros(
            rng.u64(0..=u64::try_from(takes.as_micros()).expect("short") * 13 / 10),
        ));
        child.kill().expect("it is stopped");
        let status = child.wait().expect("it ended");
        stopped += usize::from(status.code().is_none());
        let edition = whole(&target).unwrap_or_else(|wrong| panic!("round {round}: {wrong}"));
        assert!(edition == first || edition == second, "round {round}: {edition}");
        found.insert(edition);
    }
    println!("250 presses, {stopped} stopped before their end, one takes {takes:?}");
    assert!(stopped > 50, "too few were stopped to say anything: {stopped}");
    assert_eq!(found.len(), 2, "both editions were found");
    // The next press sweeps what the stopped ones left.
    done(press(&one, &target));
    let beside: BTreeSet<String> = fs::read_dir(&one.0)
        .expect("the folder")
        .map(|entry| entry.expect("an entry").file_name().to_string_lossy().into_owned())
        .collect();
    assert_eq!(beside, BTreeSet::from(["content".to_owned(), "site".to_owned()]));
}

/// A disk of two megabytes in a name space of its own, filled up between two presses.
#[test]
fn on_a_full_disk_the_last_good_site_stays() {
    let library = small("full");
    let disk = library.0.join("disk");
    fs::create_dir_all(&disk).expect("a folder");
    let script = r#"
        set -e
        mount -t tmpfs -o size=16m tmpfs "$DISK"
        "$LOCKNUT" press --library "$LIBRARY" --into "$DISK/site"
        cp -r "$DISK/site" "$LIBRARY/before"
        head -c 100000000 /dev/zero > "$DISK/filler" 2>/dev/null || true
        sed -i 's/Ennismouth/Ennisford/' "$LIBRARY/content/shop.yaml"
        status=0
        "$LOCKNUT" press --library "$LIBRARY" --into "$DISK/site" 2> "$LIBRARY/said" || status=$?
        echo "$status" > "$LIBRARY/status"
        cp -r "$DISK/site" "$LIBRARY/after"
        ls -A "$DISK" > "$LIBRARY/left"
        umount "$DISK"
    "#;
    let output = Command::new("unshare")
        .args(["--mount", "--map-root-user", "--user", "bash", "-c", script])
        .env("DISK", &disk)
        .env("LIBRARY", &library.0)
        .env("LOCKNUT", PROGRAM)
        .output()
        .expect("unshare of util-linux");
    let read = |name: &str| fs::read_to_string(library.0.join(name)).unwrap_or_default();
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    assert_eq!(read("status").trim(), "3", "the machine's fault: {}", read("said"));
    assert!(read("said").contains("No space left on device"), "{}", read("said"));
    let before = whole(&library.0.join("before")).expect("a whole site before");
    assert_eq!(whole(&library.0.join("after")), Ok(before));
    assert_eq!(read("left"), "filler\nsite\n", "nothing half made is left");
}

#[test]
fn a_changed_picture_is_drawn_anew_and_the_others_are_kept() {
    let library = library("pictures");
    let site = pressed(&library);
    let picture = walkdir::WalkDir::new(site.join("drawings"))
        .into_iter()
        .map(|entry| entry.expect("an entry").into_path())
        .find(|path| path.extension().is_some_and(|ending| ending == "png"))
        .expect("a picture");
    let good = fs::read(&picture).expect("a picture");
    assert!(good.starts_with(b"\x89PNG"));
    fs::write(&picture, b"spoilt").expect("a spoilt picture");
    pressed(&library);
    assert_eq!(fs::read(&picture).expect("a picture"), good);
}

/// What a page may hold besides what the starter's pages do.
const MANY: &str = r#"---
title: Everything at once
summary: Notes, terms, a drawing twice, a former address.
topic: care
number: CA-900
revision: A
issued: 2026-05-03
prepared_by: R. Pell
approved_by: M. Oduya
done_by: rider
formerly: [guides/care/everything]
---

First[^one], then[^two], again[^one]. Written as text: <a href="sheet:index.html"> and "sheet:index.html".

Plate
: the side of a link

```drawing
of: bolt-preload
set: {diameter: 5 mm, pitch: 0.8 mm, pull: 5000 N, used: 60 %, torque: 5 N·m}
alt: A bolt.
```

## 5 Then [the same](everything-at-once.md#op-5)

```drawing
of: bolt-preload
set: {diameter: 6 mm, pitch: 1 mm, pull: 5000 N, used: 60 %, torque: 5 N·m}
alt: Another bolt.
```

[^two]: The *second* note.
[^one]: The first note.
"#;

/// A photo as a telephone keeps it: lying on its side, the left half red, with a place in its file.
fn telephone_photo() -> Vec<u8> {
    use image::ImageEncoder;
    let photo =
        image::RgbImage::from_fn(2400, 1200, |x, _| image::Rgb(if x < 1200 { [200, 0, 0] } else { [0, 0, 200] }));
    // CIPA DC-008 (Exif), 4.6: tag 0x0112, orientation, is 6 where the first row is on the right: to be seen, the
    // picture is turned by a quarter clockwise, and its left comes to the top.
    let exif = b"II*\0\x08\0\0\0\x02\0\x12\x01\x03\0\x01\0\0\0\x06\0\0\0\x0e\x01\x02\0\x11\0\0\0\x26\0\0\0\0\0\0\0Quay Steps, No 4\0";
    let mut bytes = Vec::new();
    let mut encoder = image::codecs::jpeg::JpegEncoder::new_with_quality(&mut bytes, 90);
    encoder.set_exif_metadata(exif.to_vec()).expect("a JPEG may carry it");
    encoder.write_image(&photo, 2400, 1200, image::ExtendedColorType::Rgb8).expect("a photo");
    bytes
}

#[test]
fn a_photo_is_turned_scaled_and_says_nothing_of_its_maker() {
    let library = library("photos");
    let guide = MANY.replace(
        "[^two]: The",
        "![The end at (=part.length).](../../photos/End%20of%20chain.jpg \"It is (=part.length) long.\")\n\n\
```working\nname: part\nequation: {length: 2 * 12.7 mm}\nunit: {length: mm}\ndecimals: {length: 1}\n```\n\n\
In a line ![small](../../photos/small.png) ![wide](../../photos/wide.jpg).\n\n[^two]: The",
    );
    library.write("content/photos/End of chain.jpg", telephone_photo());
    let small = image::RgbaImage::from_pixel(40, 30, image::Rgba([0, 90, 0, 128]));
    small.save(library.0.join("content/photos/small.png")).expect("a photo");
    let wide = image::RgbImage::from_pixel(2400, 1200, image::Rgb([0, 90, 0]));
    wide.save(library.0.join("content/photos/wide.jpg")).expect("a photo");
    library.write("content/guides/care/everything-at-once.md", guide);
    assert!(String::from_utf8_lossy(&telephone_photo()).contains("Quay Steps"));
    let site = pressed(&library);
    let page = fs::read_to_string(site.join("guides/care/everything-at-once.html")).expect("the page");
    let named = |begins: &str| {
        let entries = fs::read_dir(site.join("photos")).expect("photos");
        let names = entries.map(|entry| entry.expect("an entry").file_name().to_string_lossy().into_owned());
        names.into_iter().find(|name| name.starts_with(begins)).expect("a photo")
    };
    let (large, small) = (named("end-of-chain."), named("small."));
    let (wide, narrow) = (named("wide."), named("wide-760."));
    for part in [
        format!(r#"<img src="../../photos/{large}" alt="The end at 25.4 mm." width="800" height="1600""#),
        format!(r#"<img src="../../photos/{small}" alt="small" width="40" height="30""#),
        "<figcaption>It is <".to_owned(),
        format!(r#"srcset="../../photos/{narrow} 760w, ../../photos/{wide} 1600w""#),
    ] {
        assert!(page.contains(&part), "{part} is missing in\n{page}");
    }
    let bytes = fs::read(site.join("photos").join(&large)).expect("a photo");
    assert!(!bytes.windows(4).any(|four| four == b"Exif"), "what the camera wrote is gone");
    assert!(!String::from_utf8_lossy(&bytes).contains("Quay Steps"));
    let seen = image::load_from_memory(&bytes).expect("a photo").to_rgb8();
    assert_eq!(seen.dimensions(), (800, 1600));
    let size_of = |name: &str| image::image_dimensions(site.join("photos").join(name)).expect("a photo");
    assert_eq!((size_of(&wide), size_of(&narrow)), ((1600, 800), (760, 380)));
    assert!(seen.get_pixel(400, 100)[0] > 150 && seen.get_pixel(400, 1500)[2] > 150, "left came to the top");
    let clear = image::open(site.join("photos").join(&small)).expect("a photo").to_rgba8();
    assert_eq!(clear.get_pixel(20, 15).0, [0, 90, 0, 128]);
    // One that is damaged past its head is found when it is made, and the last good site stays.
    let whole_before = whole(&site).expect("a site");
    let torn = fs::read(library.0.join("content/photos/small.png")).expect("a photo");
    let at = torn.windows(4).position(|four| four == b"IDAT").expect("points");
    library.write("content/photos/small.png", &torn[..at + 6]);
    for command in ["press", "proof"] {
        let output = library.run(&[command]);
        let said = err(&output);
        assert_eq!(output.status.code(), Some(1), "{command}: {said}");
        assert!(said.contains("everything-at-once.md:") && said.contains("(photo-unreadable)"), "{said}");
    }
    assert_eq!(whole(&site), Ok(whole_before));
}

#[test]
fn notes_terms_drawings_and_former_addresses_are_set() {
    let library = library("many");
    library.write("content/guides/care/everything-at-once.md", MANY);
    let site = pressed(&library);
    let page = fs::read_to_string(site.join("guides/care/everything-at-once.html")).expect("the page");
    for part in [
        r##"First<sup class="note-mark"><a id="note-1-at" href="#note-1">1</a></sup>"##,
        r##"again<sup class="note-mark"><a href="#note-1">1</a></sup>"##,
        r#"<li id="note-1"><p>The first note.</p>"#,
        r#"<li id="note-2"><p>The <em>second</em> note.</p>"#,
        "<dt>Plate</dt>",
        r#"<figure class="drawing" id="d-bolt-preload">"#,
        r#"<figure class="drawing" id="d-bolt-preload-2">"#,
        r##"<a href="#op-5">the same</a>"##,
        r#"&lt;a href="sheet:index.html"&gt; and "sheet:index.html"."#,
    ] {
        assert!(page.contains(part), "{part} in\n{page}");
    }
    let moved = fs::read_to_string(site.join("guides/care/everything.html")).expect("the former address");
    let moved = moved.replace("&#x2f;", "/");
    assert!(moved.contains("url=../../guides/care/everything-at-once.html") && moved.contains("CA-900"), "{moved}");
}

#[test]
fn every_page_is_well_formed() {
    let library = library("form");
    let site = pressed(&library);
    let mut pages = 0;
    for entry in walkdir::WalkDir::new(&site) {
        let path = entry.expect("an entry").into_path();
        if path.extension().is_some_and(|ending| ending == "html") {
            let text = fs::read_to_string(&path).expect("a page");
            let options = roxmltree::ParsingOptions { allow_dtd: true, ..roxmltree::ParsingOptions::default() };
            if let Err(error) = roxmltree::Document::parse_with_options(&text, options) {
                panic!("{}: {error}", path.display());
            }
            assert!(!text.contains("=\"sheet:"), "{}: a symbolic address is left", path.display());
            pages += 1;
        }
    }
    assert!(pages > 10, "{pages} pages");
}

/// Every page says of which edition it is, and so does the site itself; nothing is left of what stood for the mark.
#[test]
fn every_page_holds_the_mark_of_its_edition() {
    let library = library("mark");
    let site = pressed(&library);
    let edition = whole(&site).expect("a whole site");
    let marked = format!("data-edition=\"{edition}\"");
    let told = fs::read_to_string(site.join("edition.json")).expect("the mark as data");
    assert_eq!(told, format!("{{\"edition\":\"{edition}\"}}\n"));
    for entry in walkdir::WalkDir::new(&site) {
        let path = entry.expect("an entry").into_path();
        let ending = path.extension().and_then(|ending| ending.to_str()).unwrap_or_default();
        if ["html", "js", "xml", "webmanifest"].contains(&ending) {
            let text = fs::read_to_string(&path).expect("a text");
            assert!(!text.contains('\u{E0ED}'), "{}: the mark is not filled in", path.display());
            assert!(ending != "html" || text.contains(&marked), "{}: no mark", path.display());
        }
    }
    // A word changed anywhere is another edition.
    library.change("content/shop.yaml", "Ring before you come", "Ring first");
    pressed(&library);
    assert_ne!(whole(&site), Ok(edition));
}

/// Without an address of the site nothing leads to one, and the page for missing addresses leads from the host's root.
#[test]
fn a_site_without_an_address_claims_none() {
    let library = library("nowhere");
    let shop = library.read("content/shop.yaml");
    let without = shop.lines().filter(|line| !line.starts_with("site:")).map(|line| format!("{line}\n"));
    library.write("content/shop.yaml", without.collect::<String>());
    let site = pressed(&library);
    let page = fs::read_to_string(site.join("guides/drivetrain/chain-after-chainring.html")).expect("a page");
    for part in ["rel=\"canonical\"", "og:", "class=\"sheet-code\"", "tollgate.example"] {
        assert!(!page.contains(part), "{part} in\n{page}");
    }
    assert!(!site.join("previews").exists() && !site.join("sitemap.xml").exists());
    let missing = fs::read_to_string(site.join("404.html")).expect("the page");
    assert!(missing.contains("href=\"/index.html\""), "{missing}");
}
