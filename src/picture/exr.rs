//! Layers as OpenEXR: one part for the mix, one for each light, one for depth; 32-bit floats,
//! lossless, and read back bit for bit.
//!
//! ```text
//!   part "mix"       R G B              picture value, 0.18 is mid-grey
//!   part "<light>"   R G B, variance    cd·s/m² (flash, full power) or cd/m² (steady, unit level)
//!   part "depth"     Z, samples         metres along the optical axis, samples taken
//! ```
//! Part names keep letters, digits, `-` and `_`; a part's `lightName` has the name as written.

use std::io::Cursor;

use exr::prelude::{
    AnyChannel, AnyChannels, AttributeValue, Encoding, FlatSamples, Image, ImageAttributes,
    IntegerBounds, Layer as Part, LayerAttributes, ReadChannels, ReadLayers, SmallVec, Text, Vec2,
    WritableImage, read,
};
use glam::Vec3;
use thiserror::Error;

use super::{Picture, Record};
use crate::layers::{Layer, Layers, LightKind};

/// Why an EXR was not written or read.
#[derive(Debug, Error)]
pub enum ExrError {
    /// The bytes are no EXR, or the encoder failed.
    #[error("not a readable EXR: {0}")]
    Format(#[from] exr::error::Error),
    /// It is an EXR, but not of ours.
    #[error("not an EXR of layers: {0}")]
    Contents(&'static str),
}

type Channels = AnyChannels<FlatSamples>;

const FLASH: &str = "flash: cd.s/m2 at full power";
const STEADY: &str = "steady: cd/m2 at unit level";

/// The bytes of an EXR with `mix` and all `layers`, that says nothing of how it was taken.
pub fn write_exr(layers: &Layers, mix: &Picture) -> Result<Vec<u8>, ExrError> {
    write_exr_taken(layers, mix, None)
}

/// The same with the record of how it was taken, by OpenEXR's standard attributes; the plan is
/// the mix's comment.
pub fn write_exr_taken(
    layers: &Layers,
    mix: &Picture,
    record: Option<&Record>,
) -> Result<Vec<u8>, ExrError> {
    let size = Vec2(layers.width as usize, layers.height as usize);
    let part = |name: &str, extra: &[(&str, Text)], channels: Vec<AnyChannel<FlatSamples>>| {
        let mut attributes = LayerAttributes::named(name);
        attributes.software_name = Some(Text::from("foreshadow"));
        for (key, value) in extra {
            attributes.other.insert(Text::from(*key), AttributeValue::Text(value.clone()));
        }
        let channels = AnyChannels::sort(SmallVec::from_vec(channels));
        Part::new(size, attributes, Encoding::SMALL_LOSSLESS, channels)
    };
    let unit = |text: &str| ("unit", Text::from(text));

    let mut names = vec!["mix".to_owned(), "depth".to_owned()];
    let mut parts: SmallVec<[Part<Channels>; 2]> = SmallVec::new();
    let mut developed = part("mix", &[unit("picture value; 0.18 is mid-grey")], rgb(&mix.pixels));
    if let Some(record) = record {
        let said = &mut developed.attributes;
        said.comments = Some(Text::from_slice_unchecked(record.plan.as_bytes()));
        said.exposure = Some(record.shutter_s as f32);
        said.aperture = Some(record.f_number as f32);
        said.iso_speed = Some(record.iso as f32);
        said.focus = Some(record.subject_m as f32);
        let focal = AttributeValue::F32(record.focal_mm as f32);
        said.other.insert(Text::from("nominalFocalLength"), focal);
    }
    parts.push(developed);
    for layer in &layers.layers {
        let name = part_name(&layer.name, &names);
        names.push(name.clone());
        let kind = match layer.kind {
            LightKind::Flash => FLASH,
            LightKind::Continuous => STEADY,
        };
        let written = Text::from_slice_unchecked(layer.name.as_bytes());
        let mut channels = rgb(&layer.pixels);
        channels.push(AnyChannel::new("variance", FlatSamples::F32(layer.variance.clone())));
        parts.push(part(&name, &[unit(kind), ("lightName", written)], channels));
    }
    let channels = vec![
        AnyChannel::new("Z", FlatSamples::F32(layers.depth.clone())),
        AnyChannel::new("samples", FlatSamples::U32(layers.samples.clone())),
    ];
    parts.push(part("depth", &[unit("m along the optical axis")], channels));

    let image =
        Image::from_layers(ImageAttributes::new(IntegerBounds::from_dimensions(size)), parts);
    let mut file = Cursor::new(Vec::new());
    image.write().to_buffered(&mut file)?;
    Ok(file.into_inner())
}

/// Layers and mix of an EXR that [`write_exr`] made.
pub fn read_exr(bytes: &[u8]) -> Result<(Layers, Picture), ExrError> {
    let image = read()
        .no_deep_data()
        .largest_resolution_level()
        .all_channels()
        .all_layers()
        .all_attributes()
        .from_buffered(Cursor::new(bytes))?;
    let mut layers =
        Layers { width: 0, height: 0, layers: Vec::new(), depth: Vec::new(), samples: Vec::new() };
    let mut mix = None;
    for part in &image.layer_data {
        let channels = &part.channel_data;
        let (width, height) = (part.size.width() as u32, part.size.height() as u32);
        let name = part.attributes.layer_name.as_ref().map(Text::to_string).unwrap_or_default();
        match name.as_str() {
            "mix" => mix = Some(Picture { width, height, pixels: colors(channels)? }),
            "depth" => {
                (layers.width, layers.height) = (width, height);
                layers.depth = floats(channels, "Z")?.to_vec();
                layers.samples = match find(channels, "samples") {
                    Some(FlatSamples::U32(samples)) => samples.clone(),
                    _ => return Err(ExrError::Contents("the depth part has no samples")),
                };
            }
            _ => layers.layers.push(Layer {
                name: text(part, "lightName")?,
                kind: match text(part, "unit")?.as_str() {
                    FLASH => LightKind::Flash,
                    STEADY => LightKind::Continuous,
                    _ => return Err(ExrError::Contents("a light's unit is not known")),
                },
                pixels: colors(channels)?,
                variance: floats(channels, "variance")?.to_vec(),
            }),
        }
    }
    let mix = mix.ok_or(ExrError::Contents("there is no mix"))?;
    let count = mix.pixels.len();
    let fits = layers.depth.len() == count
        && layers.layers.iter().all(|layer| layer.pixels.len() == count);
    if fits { Ok((layers, mix)) } else { Err(ExrError::Contents("parts differ in size")) }
}

fn rgb(pixels: &[Vec3]) -> Vec<AnyChannel<FlatSamples>> {
    ["R", "G", "B"]
        .into_iter()
        .enumerate()
        .map(|(i, name)| {
            AnyChannel::new(name, FlatSamples::F32(pixels.iter().map(|p| p[i]).collect()))
        })
        .collect()
}

/// A name that every reader takes, unlike any in `taken`.
fn part_name(name: &str, taken: &[String]) -> String {
    let plain: String = name
        .chars()
        .map(|c| if c.is_ascii_alphanumeric() || c == '-' { c } else { '_' })
        .take(64)
        .collect();
    let plain = if plain.is_empty() { "light".to_owned() } else { plain };
    let mut unique = plain.clone();
    let mut n = 2;
    while taken.contains(&unique) {
        unique = format!("{plain}_{n}");
        n += 1;
    }
    unique
}

fn find<'a>(channels: &'a Channels, name: &str) -> Option<&'a FlatSamples> {
    channels.list.iter().find(|channel| channel.name.eq(name)).map(|channel| &channel.sample_data)
}

fn floats<'a>(channels: &'a Channels, name: &str) -> Result<&'a [f32], ExrError> {
    match find(channels, name) {
        Some(FlatSamples::F32(samples)) => Ok(samples),
        _ => Err(ExrError::Contents("a part lacks a 32-bit channel")),
    }
}

fn colors(channels: &Channels) -> Result<Vec<Vec3>, ExrError> {
    let [r, g, b] = [floats(channels, "R")?, floats(channels, "G")?, floats(channels, "B")?];
    Ok(r.iter().zip(g).zip(b).map(|((&r, &g), &b)| Vec3::new(r, g, b)).collect())
}

fn text(part: &Part<Channels>, key: &str) -> Result<String, ExrError> {
    match part.attributes.other.get(&Text::from(key)) {
        Some(AttributeValue::Text(text)) => {
            Ok(String::from_utf8_lossy(text.as_slice()).into_owned())
        }
        _ => Err(ExrError::Contents("a light lacks its name or unit")),
    }
}
