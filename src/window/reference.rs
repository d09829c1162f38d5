//! A reference picture from a file: JPEG, PNG or TIFF, turned as its camera held it, in sRGB.

use std::path::{Path, PathBuf};
use std::sync::Arc;

use image::{DynamicImage, ImageDecoder, ImageReader};
use moxcms::{ColorProfile, Layout, TransformOptions};

/// The picture.
#[derive(Clone)]
pub struct Reference {
    /// The file.
    pub path: PathBuf,
    /// Pixels across and down.
    pub size: [usize; 2],
    /// sRGB, three bytes a pixel.
    pub rgb: Arc<Vec<u8>>,
    /// Whether the file's own profile was used.
    pub profiled: bool,
}

/// Why a file cannot serve: what is wrong, and what to do.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{path}: {problem}")]
pub struct ReferenceError {
    path: String,
    problem: String,
}

/// Larger pictures are shown at this long side.
const LONGEST: u32 = 2400;

/// Reads a picture.
pub fn read(path: &Path) -> Result<Reference, ReferenceError> {
    let wrong = |problem: String| ReferenceError { path: path.display().to_string(), problem };
    let unread = |error: image::ImageError| wrong(format!("cannot be read as a picture: {error}"));
    let reader = ImageReader::open(path)
        .and_then(ImageReader::with_guessed_format)
        .map_err(|error| wrong(format!("cannot be opened: {error}")))?;
    let mut decoder = reader.into_decoder().map_err(unread)?;
    // neither is worth refusing a picture for
    let orientation = decoder.orientation().ok();
    let profile = decoder.icc_profile().ok().flatten();
    let mut picture = DynamicImage::from_decoder(decoder).map_err(unread)?;
    if let Some(orientation) = orientation {
        picture.apply_orientation(orientation);
    }
    if picture.width().max(picture.height()) > LONGEST {
        picture = picture.thumbnail(LONGEST, LONGEST);
    }
    let size = [picture.width() as usize, picture.height() as usize];
    let plain = picture.to_rgb8().into_raw();
    let converted = profile.and_then(|profile| to_srgb(&plain, &profile));
    let profiled = converted.is_some();
    let rgb = Arc::new(converted.unwrap_or(plain));
    Ok(Reference { path: path.to_owned(), size, rgb, profiled })
}

/// Through the embedded profile; `None` where that is not one for RGB.
fn to_srgb(rgb: &[u8], profile: &[u8]) -> Option<Vec<u8>> {
    let own = ColorProfile::new_from_slice(profile).ok()?;
    let transform = own
        .create_transform_8bit(
            Layout::Rgb,
            &ColorProfile::new_srgb(),
            Layout::Rgb,
            TransformOptions::default(),
        )
        .ok()?;
    let mut out = vec![0; rgb.len()];
    transform.transform(rgb, &mut out).ok()?;
    Some(out)
}

#[cfg(test)]
mod tests {
    use super::*;
    use image::ImageEncoder;

    fn encoded(profile: Option<Vec<u8>>, orientation: Option<u8>) -> Vec<u8> {
        // left half red, right half green: 4 × 2
        let pixels: Vec<u8> =
            (0..8).flat_map(|i| if i % 4 < 2 { [200, 10, 10] } else { [10, 200, 10] }).collect();
        let mut bytes = Vec::new();
        let mut encoder = image::codecs::jpeg::JpegEncoder::new_with_quality(&mut bytes, 100);
        if let Some(profile) = profile {
            encoder.set_icc_profile(profile).unwrap();
        }
        if let Some(orientation) = orientation {
            // a TIFF block with one entry: 0x0112, a short
            let mut exif = b"II*\0\x08\0\0\0\x01\0\x12\x01\x03\0\x01\0\0\0".to_vec();
            exif.extend([orientation, 0, 0, 0, 0, 0, 0, 0]);
            encoder.set_exif_metadata(exif).unwrap();
        }
        encoder.write_image(&pixels, 4, 2, image::ExtendedColorType::Rgb8).unwrap();
        bytes
    }

    fn read_bytes(bytes: &[u8]) -> Result<Reference, ReferenceError> {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("a.jpg");
        std::fs::write(&path, bytes).unwrap();
        read(&path)
    }

    #[test]
    fn pictures_are_turned_as_they_were_held() {
        let plain = read_bytes(&encoded(None, None)).unwrap();
        assert_eq!(plain.size, [4, 2]);
        let turned = read_bytes(&encoded(None, Some(6))).unwrap();
        assert_eq!(turned.size, [2, 4], "a quarter turn clockwise");
        assert!(turned.rgb[0] > 120 && turned.rgb[1] < 100, "left is now on top");
    }

    #[test]
    fn an_embedded_profile_is_honoured() {
        let wide = ColorProfile::new_display_p3().encode().unwrap();
        let plain = read_bytes(&encoded(None, None)).unwrap();
        let profiled = read_bytes(&encoded(Some(wide), None)).unwrap();
        assert!(!plain.profiled && profiled.profiled);
        // P3's red is redder than sRGB's: the same code means more
        assert!(profiled.rgb[0] > plain.rgb[0] + 5, "{} {}", profiled.rgb[0], plain.rgb[0]);
    }

    #[test]
    fn what_is_no_picture_is_refused_with_its_name() {
        let refused = read_bytes(b"(format: 1)").err().unwrap().to_string();
        assert!(refused.contains("a.jpg"), "{refused}");
    }
}
