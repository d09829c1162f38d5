//! What a still says of how it was taken: EXIF, with the plan itself as its comment.
//!
//! ```text
//!   UserComment   "ASCII" 0 0 0 │ "foreshadow plan" newline │ the plan's text
//! ```
//! In EXIF, since that is what other programs carry along when they save a retouched copy.
//! The same directory serves PNG, JPEG and TIFF (CIPA DC-008 / JEITA CP-3451, Exif 2.32).

use std::io::Cursor;

use exif::experimental::Writer;
use exif::{Context, Field, In, Rational, Tag, Value};

use super::EncodeError;

/// How a still was taken.
#[derive(Debug, Clone, PartialEq)]
pub struct Record {
    /// Title of the picture; may be empty.
    pub title: String,
    /// The plan as text of printable ASCII, with its opening line.
    pub plan: String,
    /// Focal length in millimetres.
    pub focal_mm: f64,
    /// The focal length of the same diagonal view on 36 × 24 mm.
    pub focal_35mm: f64,
    /// Aperture.
    pub f_number: f64,
    /// Shutter time in seconds.
    pub shutter_s: f64,
    /// Speed as standard output sensitivity.
    pub iso: f64,
    /// Distance to the plane of focus in metres.
    pub subject_m: f64,
    /// Whether a flash fires.
    pub flash: bool,
}

/// Most that fits into a JPEG's EXIF segment: 65,535 less its length and its mark.
pub const MOST_IN_JPEG: usize = 65_535 - 2 - 6;

impl Record {
    /// The EXIF block of a picture of so many pixels.
    pub fn block(&self, width: u32, height: u32) -> Result<Vec<u8>, EncodeError> {
        let fields = self.fields(width, height);
        let mut writer = Writer::new();
        for field in &fields {
            writer.push_field(field);
        }
        written(writer)
    }

    fn fields(&self, width: u32, height: u32) -> Vec<Field> {
        // UTF-8, as other programs write and read it there; the standard allows it from 3.0 on
        let words = |text: &str| Value::Ascii(vec![text.bytes().filter(|b| *b != 0).collect()]);
        let short = |n: u16| Value::Short(vec![n]);
        let ratio = |value: f64| Value::Rational(vec![rational(value)]);
        let comment = [b"ASCII\0\0\0".as_slice(), self.plan.as_bytes()].concat();
        // Short has no room for speeds beyond its range; StandardOutputSensitivity has
        let speed = self.iso.round().clamp(1.0, 65_535.0) as u16;
        let mut fields = vec![
            field(Tag::Software, words(concat!("foreshadow ", env!("CARGO_PKG_VERSION")))),
            field(Tag::ExposureTime, Value::Rational(vec![time(self.shutter_s)])),
            field(Tag::FNumber, ratio(self.f_number)),
            // manual
            field(Tag::ExposureProgram, short(1)),
            field(Tag::PhotographicSensitivity, short(speed)),
            // the speed is a standard output sensitivity
            field(Tag::SensitivityType, short(1)),
            field(Tag::StandardOutputSensitivity, Value::Long(vec![self.iso.round() as u32])),
            field(Tag::ExifVersion, Value::Undefined(b"0232".to_vec(), 0)),
            field(Tag::SubjectDistance, ratio(self.subject_m)),
            field(Tag::Flash, short(u16::from(self.flash))),
            field(Tag::FocalLength, ratio(self.focal_mm)),
            field(Tag::UserComment, Value::Undefined(comment, 0)),
            // sRGB
            field(Tag::ColorSpace, short(1)),
            field(Tag::PixelXDimension, Value::Long(vec![width])),
            field(Tag::PixelYDimension, Value::Long(vec![height])),
            // manual exposure and white balance
            field(Tag::ExposureMode, short(1)),
            field(Tag::WhiteBalance, short(1)),
            field(Tag::FocalLengthIn35mmFilm, short(self.focal_35mm.round() as u16)),
        ];
        if !self.title.is_empty() {
            fields.push(field(Tag::ImageDescription, words(&self.title)));
        }
        fields
    }
}

/// A TIFF of one strip of 16-bit RGB in little-endian bytes, with its colour profile and record.
pub(super) fn tiff16(
    width: u32,
    height: u32,
    bytes: &[u8],
    profile: Vec<u8>,
    record: Option<&Record>,
) -> Result<Vec<u8>, EncodeError> {
    let mut fields = record.map_or(Vec::new(), |record| record.fields(width, height));
    fields.extend([
        field(Tag::ImageWidth, Value::Long(vec![width])),
        field(Tag::ImageLength, Value::Long(vec![height])),
        field(Tag::BitsPerSample, Value::Short(vec![16; 3])),
        // none
        field(Tag::Compression, Value::Short(vec![1])),
        // RGB, channel by channel within a pixel
        field(Tag::PhotometricInterpretation, Value::Short(vec![2])),
        field(Tag::SamplesPerPixel, Value::Short(vec![3])),
        field(Tag::PlanarConfiguration, Value::Short(vec![1])),
        field(Tag::RowsPerStrip, Value::Long(vec![height])),
        // the ICC profile (ICC.1, B.4)
        field(Tag(Context::Tiff, 34675), Value::Undefined(profile, 0)),
    ]);
    let mut writer = Writer::new();
    for field in &fields {
        writer.push_field(field);
    }
    let strips = [bytes];
    writer.set_strips(&strips, In::PRIMARY);
    written(writer)
}

fn written(mut writer: Writer<'_>) -> Result<Vec<u8>, EncodeError> {
    let mut file = Cursor::new(Vec::new());
    writer.write(&mut file, true)?;
    Ok(file.into_inner())
}

fn field(tag: Tag, value: Value) -> Field {
    Field { tag, ifd_num: In::PRIMARY, value }
}

/// Thousandths, in lowest terms where they are whole.
fn rational(value: f64) -> Rational {
    let thousandths = (value * 1000.0).round().clamp(0.0, f64::from(u32::MAX)) as u32;
    [1000, 100, 10].into_iter().find(|part| thousandths.is_multiple_of(*part)).map_or(
        Rational { num: thousandths, denom: 1000 },
        |part| Rational { num: thousandths / part, denom: 1000 / part },
    )
}

/// 1/125 as cameras write it, or thousandths.
fn time(seconds: f64) -> Rational {
    let under = (1.0 / seconds).round();
    let fraction = seconds < 0.5 && (under * seconds - 1.0).abs() < 1e-6;
    if fraction { Rational { num: 1, denom: under as u32 } } else { micros(seconds) }
}

fn micros(seconds: f64) -> Rational {
    Rational { num: (seconds * 1e6).round() as u32, denom: 1_000_000 }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_as_cameras_write_them() {
        let parts = |r: Rational| (r.num, r.denom);
        assert_eq!(parts(rational(85.0)), (85, 1));
        assert_eq!(parts(rational(5.6)), (56, 10));
        assert_eq!(parts(rational(1.234)), (1234, 1000));
        assert_eq!(parts(time(0.008)), (1, 125));
        assert_eq!(parts(time(1.0 / 60.0)), (1, 60));
        assert_eq!(parts(time(2.5)), (2_500_000, 1_000_000));
    }
}
