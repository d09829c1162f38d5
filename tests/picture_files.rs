//! Files: what is written is whole, tagged, and reads back.

use std::path::Path;

use foreshadow::layers::{Layer, Layers, LightKind};
use foreshadow::picture::{EncodeError, FileFormat, Picture, Still, encode, read_exr, write_exr};
use glam::Vec3;
use image::{DynamicImage, ImageDecoder, ImageFormat, ImageReader};
use std::io::Cursor;

/// A slow grey gradient over a darker half, with a red corner.
fn still(width: u32, height: u32) -> Still {
    let pixels = (0..width * height)
        .map(|i| {
            let (x, y) = (i % width, i / width);
            match (x < 8 && y < 8, y < height / 2) {
                (true, _) => Vec3::new(1.0, 0.0, 0.0),
                (_, true) => Vec3::splat(0.40 + 0.03 * x as f32 / width as f32),
                (_, false) => Vec3::splat(118.0 / 255.0),
            }
        })
        .collect();
    Still { width, height, pixels }
}

fn decode(bytes: &[u8], format: ImageFormat) -> DynamicImage {
    ImageReader::with_format(Cursor::new(bytes), format).decode().unwrap()
}

/// The colour profile in a file. The TIFF decoder does not hand it out: found by its signature,
/// 36 bytes into a profile.
fn profile(bytes: &[u8], format: ImageFormat) -> Vec<u8> {
    if format == ImageFormat::Tiff {
        let at = bytes.windows(4).position(|w| w == b"acsp").expect("a profile in the TIFF");
        return bytes[at - 36..].to_vec();
    }
    let mut decoder = ImageReader::with_format(Cursor::new(bytes), format).into_decoder().unwrap();
    decoder.icc_profile().unwrap().expect("a profile")
}

#[test]
fn pictures_decode_to_what_was_encoded() {
    let still = still(64, 48);
    for (format, as_image, tolerance) in [
        (FileFormat::Png8, ImageFormat::Png, 1.01 / 255.0),
        (FileFormat::Png16, ImageFormat::Png, 0.51 / 65535.0),
        (FileFormat::Tiff16, ImageFormat::Tiff, 0.51 / 65535.0),
        // JPEG blurs at the red corner's edge; its middle and the greys hold.
        (FileFormat::Jpeg, ImageFormat::Jpeg, 4.0 / 255.0),
    ] {
        let bytes = encode(&still, format).unwrap();
        let (decoded, profile) = (decode(&bytes, as_image), profile(&bytes, as_image));
        assert_eq!((decoded.width(), decoded.height()), (64, 48));
        assert!(profile.len() > 128 && &profile[36..40] == b"acsp", "{format:?}");
        let name = b"sRGB IEC61966-2.1".iter().flat_map(|&c| [0, c]).collect::<Vec<u8>>();
        assert!(profile.windows(name.len()).any(|w| w == name), "{format:?}");
        let deep = matches!(format, FileFormat::Png16 | FileFormat::Tiff16);
        assert_eq!(decoded.color().bits_per_pixel(), if deep { 48 } else { 24 });
        let decoded = decoded.into_rgb32f();
        for (i, (got, wanted)) in decoded.pixels().zip(&still.pixels).enumerate() {
            let (x, y) = (i % 64, i / 64);
            if format == FileFormat::Jpeg && x < 18 && y < 18 && !(x < 6 && y < 6) {
                continue;
            }
            let off = (Vec3::from(got.0) - wanted).abs().max_element();
            assert!(off <= tolerance, "{format:?} at {x},{y}: {got:?} {wanted}");
        }
    }
    assert!(matches!(encode(&still, FileFormat::Exr), Err(EncodeError::NeedsLayers)));
}

#[test]
fn dither_keeps_codes_and_carries_gradients() {
    let still = still(640, 64);
    let decoded = decode(&encode(&still, FileFormat::Png8).unwrap(), ImageFormat::Png);
    let decoded = decoded.into_rgb8();
    // A flat code stays flat.
    assert!(
        decoded.enumerate_pixels().filter(|(_, y, _)| *y >= 32).all(|(_, _, p)| p.0 == [118; 3])
    );
    // The gradient's mean over 16 × 16 follows within a fifth of a code; grey stays grey.
    for block in 1..40u32 {
        let mut mean = 0.0;
        let mut wanted = 0.0;
        for i in 0..256 {
            let (x, y) = (block * 16 + i % 16, 8 + i / 16);
            let pixel = decoded.get_pixel(x, y);
            assert!(pixel[0] == pixel[1] && pixel[1] == pixel[2]);
            mean += f32::from(pixel[0]) / 256.0;
            wanted += 255.0 * still.pixels[(y * 640 + x) as usize].x / 256.0;
        }
        assert!((mean - wanted).abs() < 0.2, "block {block}: {mean} {wanted}");
    }
    // The same picture gives the same bytes.
    assert_eq!(
        encode(&still, FileFormat::Png8).unwrap(),
        encode(&still, FileFormat::Png8).unwrap()
    );
}

#[test]
fn formats_go_by_the_ending() {
    for (name, format) in [
        ("a.png", Some(FileFormat::Png8)),
        ("a.JPG", Some(FileFormat::Jpeg)),
        ("a.jpeg", Some(FileFormat::Jpeg)),
        ("a.tif", Some(FileFormat::Tiff16)),
        ("a.b.exr", Some(FileFormat::Exr)),
        ("a.webp", None),
        ("png", None),
    ] {
        assert_eq!(FileFormat::of_path(Path::new(name)), format, "{name}");
    }
}

fn layers() -> (Layers, Picture) {
    let (width, height) = (37, 21);
    let count = width * height;
    // Values with all bits in use, from subnormal to huge.
    let value = |i: usize, salt: usize| {
        let bits = (i * 2_654_435_761 + salt * 40_503) as u32;
        f32::from_bits(bits & 0x7fff_ffff & !0x4000_0000 | (bits & 1) << 30 & 0x3fff_ffff)
    };
    let layer = |name: &str, kind, salt| Layer {
        name: name.to_owned(),
        kind,
        pixels: (0..count)
            .map(|i| Vec3::new(value(i, salt), value(i, salt + 1), -value(i, salt + 2)))
            .collect(),
        variance: (0..count).map(|i| value(i, salt + 3)).collect(),
    };
    let layers = Layers {
        width: width as u32,
        height: height as u32,
        layers: vec![
            layer("key", LightKind::Flash, 1),
            layer("Führung / links", LightKind::Flash, 5),
            layer("mix", LightKind::Flash, 9),
            layer("F_hrung___links", LightKind::Flash, 13),
            layer("ambient", LightKind::Continuous, 17),
        ],
        depth: (0..count).map(|i| 1.0 + value(i, 21)).collect(),
        samples: (0..count as u32).map(|i| i * 1000).collect(),
    };
    let mix = layers.layers[0].pixels.iter().map(|p| *p * 0.5).collect();
    (layers, Picture { width: width as u32, height: height as u32, pixels: mix })
}

fn bits(pixels: &[Vec3]) -> Vec<[u32; 3]> {
    pixels.iter().map(|p| p.to_array().map(f32::to_bits)).collect()
}

#[test]
fn exr_gives_every_layer_back_bit_for_bit() {
    let (layers, mix) = layers();
    let bytes = write_exr(&layers, &mix).unwrap();
    let (back, back_mix) = read_exr(&bytes).unwrap();
    assert_eq!((back.width, back.height), (layers.width, layers.height));
    assert_eq!(back.layers.len(), layers.layers.len());
    for (a, b) in layers.layers.iter().zip(&back.layers) {
        assert_eq!((&a.name, a.kind), (&b.name, b.kind));
        assert_eq!(bits(&a.pixels), bits(&b.pixels), "{}", a.name);
        let variance = |v: &[f32]| v.iter().map(|v| v.to_bits()).collect::<Vec<_>>();
        assert_eq!(variance(&a.variance), variance(&b.variance), "{}", a.name);
    }
    assert_eq!(bits(&mix.pixels), bits(&back_mix.pixels));
    assert_eq!(layers.depth, back.depth);
    assert_eq!(layers.samples, back.samples);
}

#[test]
fn what_is_no_exr_of_ours_is_refused() {
    assert!(read_exr(b"").is_err());
    assert!(read_exr(b"not an exr at all").is_err());
    let (layers, mix) = layers();
    let bytes = write_exr(&layers, &mix).unwrap();
    for cut in [8, 200, bytes.len() / 2, bytes.len() - 3] {
        assert!(read_exr(&bytes[..cut]).is_err(), "cut at {cut}");
    }
}
