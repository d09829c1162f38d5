//! Stills as PNG, JPEG and TIFF bytes, tagged sRGB.

use std::io::Cursor;
use std::path::Path;

use image::codecs::jpeg::JpegEncoder;
use image::codecs::png::PngEncoder;
use image::{ExtendedColorType, ImageEncoder, ImageError};
use rayon::prelude::*;
use thiserror::Error;

use super::Still;
use super::record::{MOST_IN_JPEG, Record, tiff16};

/// Kinds of picture file.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum FileFormat {
    /// PNG, 8 bits a channel, dithered.
    Png8,
    /// PNG, 16 bits a channel.
    Png16,
    /// JPEG of quality 92, dithered.
    Jpeg,
    /// TIFF, 16 bits a channel.
    Tiff16,
    /// OpenEXR with the layers ([`super::write_exr`]).
    Exr,
}

impl FileFormat {
    /// By the file name's ending; None for one not known. `.png` is 8 bits.
    pub fn of_path(path: &Path) -> Option<Self> {
        let ending = path.extension()?.to_str()?.to_ascii_lowercase();
        match ending.as_str() {
            "png" => Some(Self::Png8),
            "jpg" | "jpeg" => Some(Self::Jpeg),
            "tif" | "tiff" => Some(Self::Tiff16),
            "exr" => Some(Self::Exr),
            _ => None,
        }
    }
}

/// Why a still was not encoded.
#[derive(Debug, Error)]
pub enum EncodeError {
    /// The format holds layers, not a still: the caller's fault.
    #[error("an EXR holds the layers, not a developed still")]
    NeedsLayers,
    /// The size cannot be held by the format, or the encoder failed.
    #[error("the picture cannot be encoded")]
    Encoder(#[from] ImageError),
    /// The record of how it was taken could not be written.
    #[error("the EXIF cannot be written: {0}")]
    Record(#[from] exif::Error),
    /// The plan is too long for the format.
    #[error(
        "the plan makes an EXIF of {} kB, and a JPEG holds 65\n   hint: save the still as .png or .tif",
        bytes / 1000
    )]
    PlanTooLong {
        /// Length of the EXIF block.
        bytes: usize,
    },
    /// The colour profile could not be written.
    #[error("the sRGB profile cannot be written: {0}")]
    Profile(String),
}

const JPEG_QUALITY: u8 = 92;

/// The bytes of a picture file that says nothing of how it was taken.
pub fn encode(still: &Still, format: FileFormat) -> Result<Vec<u8>, EncodeError> {
    encode_taken(still, format, None)
}

/// Whether a record finds room in a format.
pub fn holds(record: &Record, format: FileFormat) -> Result<(), EncodeError> {
    let bytes = record.block(1, 1)?.len();
    if format == FileFormat::Jpeg && bytes > MOST_IN_JPEG {
        return Err(EncodeError::PlanTooLong { bytes });
    }
    Ok(())
}

/// The bytes of a picture file with the record of how it was taken.
pub fn encode_taken(
    still: &Still,
    format: FileFormat,
    record: Option<&Record>,
) -> Result<Vec<u8>, EncodeError> {
    if let Some(record) = record {
        holds(record, format)?;
    }
    let profile = profile()?;
    let exif = record.map(|record| record.block(still.width, still.height)).transpose()?;
    let mut file = Cursor::new(Vec::new());
    match format {
        FileFormat::Png8 => {
            write(PngEncoder::new(&mut file), still, profile, exif, &codes8(still), Depth::Eight)?;
        }
        FileFormat::Png16 => {
            let codes = codes16(still);
            write(PngEncoder::new(&mut file), still, profile, exif, &codes, Depth::Sixteen)?;
        }
        FileFormat::Jpeg => {
            let encoder = JpegEncoder::new_with_quality(&mut file, JPEG_QUALITY);
            write(encoder, still, profile, exif, &codes8(still), Depth::Eight)?;
        }
        FileFormat::Tiff16 => {
            let codes: Vec<u8> = codes(still).flat_map(u16::to_le_bytes).collect();
            return tiff16(still.width, still.height, &codes, profile, record);
        }
        FileFormat::Exr => return Err(EncodeError::NeedsLayers),
    }
    Ok(file.into_inner())
}

/// The date of the sRGB standard, in an ICC header's form (ICC.1, 4.2): year, month, day and time.
const SRGB_DATE: [u8; 12] = [0x07, 0xcf, 0, 10, 0, 1, 0, 0, 0, 0, 0, 0];

/// The sRGB profile, without the time of its making: the same picture gives the same bytes.
fn profile() -> Result<Vec<u8>, EncodeError> {
    let mut profile = moxcms::ColorProfile::new_srgb()
        .encode()
        .map_err(|error| EncodeError::Profile(error.to_string()))?;
    if let Some(date) = profile.get_mut(24..36) {
        date.copy_from_slice(&SRGB_DATE);
    }
    Ok(profile)
}

enum Depth {
    Eight,
    Sixteen,
}

fn write(
    mut encoder: impl ImageEncoder,
    still: &Still,
    profile: Vec<u8>,
    exif: Option<Vec<u8>>,
    bytes: &[u8],
    depth: Depth,
) -> Result<(), EncodeError> {
    encoder.set_icc_profile(profile).map_err(ImageError::Unsupported)?;
    if let Some(exif) = exif {
        encoder.set_exif_metadata(exif).map_err(ImageError::Unsupported)?;
    }
    let color = match depth {
        Depth::Eight => ExtendedColorType::Rgb8,
        Depth::Sixteen => ExtendedColorType::Rgb16,
    };
    Ok(encoder.write_image(bytes, still.width, still.height, color)?)
}

/// 8-bit codes. Each pixel rounds at its own threshold, so a slow gradient turns into fine grain
/// rather than bands; the mean over a few pixels is the exact value, and a value that is
/// a code stays it. The same threshold for all channels keeps grey grey.
fn codes8(still: &Still) -> Vec<u8> {
    let width = still.width as usize;
    still
        .pixels
        .par_iter()
        .enumerate()
        .flat_map_iter(|(i, pixel)| {
            let threshold = threshold(i % width, i / width);
            pixel.to_array().map(|value| {
                let scaled = value.clamp(0.0, 1.0) * 255.0;
                let floor = scaled.floor();
                // What is left of rounding errors must not tip a whole code.
                let part = scaled - floor;
                let up = part > 0.999 || (part > 0.001 && part > threshold);
                floor as u8 + u8::from(up)
            })
        })
        .collect()
}

/// Thresholds between 0 and 1, evenly spread over any small patch: the additive recurrence
/// on the plastic number (Roberts 2018, 'The Unreasonable Effectiveness of Quasirandom Sequences').
fn threshold(x: usize, y: usize) -> f32 {
    const A: f64 = 0.754_877_666_246_692_7;
    const B: f64 = 0.569_840_290_998_053_2;
    ((x as f64 + 0.5) * A + (y as f64 + 0.5) * B).fract() as f32
}

/// 16-bit codes in the machine's byte order, as the encoders take them.
fn codes16(still: &Still) -> Vec<u8> {
    codes(still).flat_map(u16::to_ne_bytes).collect()
}

fn codes(still: &Still) -> impl Iterator<Item = u16> + '_ {
    still
        .pixels
        .iter()
        .flat_map(|pixel| pixel.to_array())
        .map(|value| (value.clamp(0.0, 1.0) * 65535.0).round() as u16)
}
