//! Files into one ZIP archive (PKWARE's APPNOTE, without its 64-bit part), the same bytes for the same files.
//!
//! Times are those of the format's first day, and no name of a user or machine goes in. Files are packed in parallel, a
//! few at a time, and written in the order in which they are given; which are there is for the caller to say.

use flate2::write::DeflateEncoder;
use flate2::{Compression, Crc};
use rayon::prelude::*;
use std::io::{self, Write};

/// How many files are packed at a time: enough for all processors, and no more in memory than that.
const AT_ONCE: usize = 64;

/// The format's flag for names in UTF-8.
const NAMES_IN_UTF_8: u16 = 1 << 11;
/// 1 January 1980, the first day that the format can tell.
const DAY: u16 = (1 << 5) | 1;
/// Needs version 2.0 of the format; made as on Unix, so that the rights of files count.
const NEEDS: u16 = 20;
const MADE_BY: u16 = (3 << 8) | NEEDS;
/// A file that its owner may write and everybody read.
const RIGHTS: u32 = 0o100_644 << 16;

/// How a file goes into an archive.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Pack {
    /// As it is.
    Stored,
    /// Made smaller.
    Deflated,
}

impl Pack {
    /// The way for a file of this name: what is packed in itself grows no smaller.
    #[must_use]
    pub fn for_name(name: &str) -> Self {
        let ending = name.rsplit('.').next().unwrap_or_default();
        if ["png", "jpg", "jpeg", "webp", "woff2"].contains(&ending) { Self::Stored } else { Self::Deflated }
    }
}

/// A file to be packed.
#[derive(Clone, Copy, Debug)]
pub struct Item<'a, T> {
    /// Its path in the archive.
    pub name: &'a str,
    /// How it is packed.
    pub pack: Pack,
    /// What its bytes are made from.
    pub from: T,
}

/// A packed file, as both of its headers tell of it.
struct Packed {
    name: String,
    method: u16,
    sum: u32,
    size: u32,
    bytes: Vec<u8>,
}

/// Writes an archive of these files in their order; `read` gives the bytes of each.
///
/// # Errors
/// What `read` or `out` says, or an archive that is too large for its format.
pub fn write<T, E>(
    items: &[Item<'_, T>],
    read: impl Fn(&T) -> Result<Vec<u8>, E> + Sync,
    out: &mut dyn Write,
) -> Result<(), E>
where
    T: Sync,
    E: From<io::Error> + Send,
{
    let mut directory = Vec::new();
    let mut offset: u32 = 0;
    for some in items.chunks(AT_ONCE) {
        let packed: Vec<Result<Packed, E>> = some.par_iter().map(|item| Ok(pack(item, &read(&item.from)?)?)).collect();
        for one in packed {
            let one = one?;
            let header = header(&one);
            write_entry(&mut directory, &one, &header, offset);
            out.write_all(&local(&header))?;
            out.write_all(one.name.as_bytes())?;
            out.write_all(&one.bytes)?;
            let length = 30 + one.name.len() + one.bytes.len();
            offset = u32::try_from(length).ok().and_then(|length| offset.checked_add(length)).ok_or_else(too_large)?;
        }
    }
    out.write_all(&directory)?;
    let count = u16::try_from(items.len()).map_err(|_| too_large())?;
    let size = u32::try_from(directory.len()).map_err(|_| too_large())?;
    let mut end = b"PK\x05\x06\0\0\0\0".to_vec();
    push_16(&mut end, &[count, count]);
    push_32(&mut end, &[size, offset]);
    push_16(&mut end, &[0]);
    Ok(out.write_all(&end)?)
}

fn too_large() -> io::Error {
    io::Error::new(io::ErrorKind::FileTooLarge, "an archive of this sort holds 65,535 files and 4 GiB at most")
}

fn pack<T>(item: &Item<'_, T>, bytes: &[u8]) -> io::Result<Packed> {
    let mut sum = Crc::new();
    sum.update(bytes);
    let (method, packed) = match item.pack {
        Pack::Stored => (0, bytes.to_vec()),
        Pack::Deflated => {
            let mut encoder = DeflateEncoder::new(Vec::with_capacity(bytes.len() / 3), Compression::default());
            encoder.write_all(bytes)?;
            (8, encoder.finish()?)
        }
    };
    let size = u32::try_from(bytes.len()).map_err(|_| too_large())?;
    Ok(Packed { name: item.name.to_owned(), method, sum: sum.sum(), size, bytes: packed })
}

/// What both headers of a file say alike: version, flags, method, time, day, sum, sizes, and the length of its name.
fn header(file: &Packed) -> Vec<u8> {
    let mut out = Vec::with_capacity(26);
    // A name of plain letters needs no flag, and the first file of a book must have none.
    let flags = if file.name.is_ascii() { 0 } else { NAMES_IN_UTF_8 };
    push_16(&mut out, &[NEEDS, flags, file.method, 0, DAY]);
    // Both lengths were held to the format's most before.
    let length = |length: usize| u32::try_from(length).unwrap_or(u32::MAX);
    push_32(&mut out, &[file.sum, length(file.bytes.len()), file.size]);
    push_16(&mut out, &[u16::try_from(file.name.len()).unwrap_or(u16::MAX), 0]);
    out
}

fn local(header: &[u8]) -> Vec<u8> {
    [b"PK\x03\x04", header].concat()
}

/// A file's line in the directory at the archive's end.
fn write_entry(directory: &mut Vec<u8>, file: &Packed, header: &[u8], offset: u32) {
    directory.extend_from_slice(b"PK\x01\x02");
    push_16(directory, &[MADE_BY]);
    directory.extend_from_slice(header);
    push_16(directory, &[0, 0, 0]);
    push_32(directory, &[RIGHTS, offset]);
    directory.extend_from_slice(file.name.as_bytes());
}

fn push_16(out: &mut Vec<u8>, numbers: &[u16]) {
    out.extend(numbers.iter().flat_map(|number| number.to_le_bytes()));
}

fn push_32(out: &mut Vec<u8>, numbers: &[u32]) {
    out.extend(numbers.iter().flat_map(|number| number.to_le_bytes()));
}
