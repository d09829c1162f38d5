//! A plan out of a still: what the program wrote into a picture is read as a plan again.
//!
//! In: a picture file. Out: the plan's text, or what is wrong with the file. PNG, JPEG and TIFF
//! carry it as the user comment of their EXIF, EXR as the comment of its first part; both open
//! with [`OPENING`]. No pixel is decoded.

use std::fs::File;
use std::io::{BufReader, Read, Seek};
use std::path::Path;

use exif::{In, Tag, Value};
use exr::meta::MetaData;

/// The line that opens a plan within a picture.
pub const OPENING: &str = "foreshadow plan";

/// A picture larger than this is no still of ours; it bounds what a TIFF makes us read, in bytes.
const LARGEST: u64 = 2 << 30;

/// Kinds of picture by their first bytes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Kind {
    Exif(&'static str),
    Exr,
}

impl Kind {
    fn of(head: &[u8]) -> Option<Self> {
        let starts = |mark: &[u8]| head.starts_with(mark);
        if starts(b"\x89PNG\r\n\x1a\n") {
            Some(Self::Exif("PNG"))
        } else if starts(b"\xff\xd8\xff") {
            Some(Self::Exif("JPEG"))
        } else if starts(b"II*\0") || starts(b"MM\0*") {
            Some(Self::Exif("TIFF"))
        } else if starts(b"\x76\x2f\x31\x01") {
            Some(Self::Exr)
        } else {
            None
        }
    }

    fn name(self) -> &'static str {
        match self {
            Self::Exif(name) => name,
            Self::Exr => "EXR",
        }
    }
}

/// Why a picture gives no plan.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct NoPlan {
    pub(super) problem: String,
    pub(super) remedy: &'static str,
}

/// The text of the plan in a picture; `None` if the file is no picture.
pub(super) fn text(path: &Path) -> std::io::Result<Option<Result<String, NoPlan>>> {
    let mut file = File::open(path)?;
    let mut head = Vec::new();
    file.by_ref().take(8).read_to_end(&mut head)?;
    let Some(kind) = Kind::of(&head) else { return Ok(None) };
    let size = file.metadata()?.len();
    if size > LARGEST {
        return Ok(Some(Err(NoPlan {
            problem: format!("this {} has {} MB, too much for a still", kind.name(), size >> 20),
            remedy: "name a still that this program wrote, or a plan file (.ron)",
        })));
    }
    file.rewind()?;
    let mut reader = BufReader::new(file);
    let comment = match kind {
        Kind::Exif(_) => in_exif(&mut reader),
        Kind::Exr => in_exr(&mut reader),
    };
    Ok(Some(match comment {
        Ok(comment) => opened(comment, kind),
        Err(problem) => Err(NoPlan {
            problem: format!("this {} cannot be read: {problem}", kind.name()),
            remedy: "name a still that this program wrote, or a plan file (.ron)",
        }),
    }))
}

/// The plan in a comment, if it is one.
fn opened(comment: Option<String>, kind: Kind) -> Result<String, NoPlan> {
    let plan = comment.as_deref().and_then(|text| text.strip_prefix(OPENING));
    match plan.and_then(|text| text.strip_prefix(['\n', '\r'])) {
        Some(text) => Ok(text.trim_start_matches('\n').trim_end_matches('\0').to_owned()),
        None => Err(NoPlan {
            problem: format!("this {} carries no plan", kind.name()),
            remedy: "name a still that this program wrote and nothing stripped of its EXIF, \
                     or a plan file (.ron)",
        }),
    }
}

fn in_exif(reader: &mut BufReader<File>) -> Result<Option<String>, String> {
    let found = exif::Reader::new().continue_on_error(true).read_from_container(reader);
    let read = match found {
        Ok(read) => read,
        Err(exif::Error::PartialResult(part)) => part.into_inner().0,
        Err(exif::Error::NotFound(_)) => return Ok(None),
        Err(error) => return Err(error.to_string()),
    };
    let comment = read.get_field(Tag::UserComment, In::PRIMARY).map(|field| &field.value);
    Ok(match comment {
        Some(Value::Undefined(bytes, _)) => decoded(bytes),
        _ => None,
    })
}

/// The text of a user comment by its character code (Exif 2.32, 4.6.5, UserComment). Editors
/// rewrite ASCII as Unicode, in either order of bytes.
fn decoded(bytes: &[u8]) -> Option<String> {
    let (code, body) = bytes.split_at_checked(8)?;
    if code == b"UNICODE\0" {
        let wide = |order: fn([u8; 2]) -> u16| {
            let units = body.chunks_exact(2).map(|pair| order([pair[0], pair[1]]));
            char::decode_utf16(units).collect::<Result<String, _>>().ok()
        };
        let is_ours = |text: &String| text.trim_start_matches('\u{feff}').starts_with(OPENING);
        let read = [u16::from_be_bytes as fn([u8; 2]) -> u16, u16::from_le_bytes];
        let text = read.into_iter().filter_map(wide).find(is_ours)?;
        return Some(text.trim_start_matches('\u{feff}').to_owned());
    }
    String::from_utf8(body.to_vec()).ok()
}

fn in_exr(reader: &mut BufReader<File>) -> Result<Option<String>, String> {
    let meta = MetaData::read_from_buffered(reader, false).map_err(|error| error.to_string())?;
    let comments = meta.headers.iter().filter_map(|header| header.own_attributes.comments.as_ref());
    let mut texts = comments.filter_map(|text| String::from_utf8(text.bytes().to_vec()).ok());
    Ok(texts.find(|text| text.starts_with(OPENING)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn comments_in_either_code() {
        let plan = format!("{OPENING}\n(format: 1)");
        let ascii = [b"ASCII\0\0\0".as_slice(), plan.as_bytes()].concat();
        assert_eq!(decoded(&ascii).unwrap(), plan);
        for order in [u16::to_be_bytes as fn(u16) -> [u8; 2], u16::to_le_bytes] {
            let wide: Vec<u8> = plan.encode_utf16().flat_map(order).collect();
            assert_eq!(decoded(&[b"UNICODE\0".as_slice(), &wide].concat()).unwrap(), plan);
        }
        for bytes in [b"".as_slice(), b"ASCII", b"UNICODE\0\xd8\0\xd8\0", b"ASCII\0\0\0\xff"] {
            assert!(decoded(bytes).is_none_or(|text| !text.starts_with(OPENING)));
        }
        assert!(opened(Some("my holiday".into()), Kind::Exr).is_err());
        assert_eq!(opened(Some(plan), Kind::Exr).unwrap(), "(format: 1)");
    }
}
