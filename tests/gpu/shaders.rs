//! Every module passes naga's validator, and structures lie in Rust as shaders read them.

use foreshadow::gpu::{layout, shader};
use foreshadow::trace::gpu;
use foreshadow::{picture, raster};
use wgpu::naga::front::wgsl;
use wgpu::naga::valid::{Capabilities, ValidationFlags, Validator};
use wgpu::naga::{Module, TypeInner};

/// Every module that the program compiles, by name.
fn modules() -> Vec<(&'static str, String)> {
    let mut all = vec![
        ("scene", shader::with_scene("")),
        ("color", shader::with_color("")),
        ("path", gpu::path_module(24)),
        ("judge", gpu::judge_module()),
        ("show", gpu::show_module()),
    ];
    all.extend(picture::card::modules());
    all.extend(raster::shaders());
    all
}

fn parsed(name: &str, source: &str) -> Module {
    let module = wgsl::parse_str(source)
        .unwrap_or_else(|fault| panic!("{name}: {}", fault.emit_to_string(source)));
    // only what every WebGPU device has, halves in words among it
    Validator::new(ValidationFlags::all(), Capabilities::SHADER_FLOAT16_IN_FLOAT32)
        .validate(&module)
        .unwrap_or_else(|fault| panic!("{name}: {}", fault.emit_to_string(source)));
    module
}

#[test]
fn all_modules_are_valid() {
    for (name, source) in modules() {
        parsed(name, &source);
    }
}

/// Offsets of a shader's structure by member, and its size.
fn laid_out(module: &Module, structure: &str) -> (Vec<(String, u32)>, u32) {
    let (_, found) = module
        .types
        .iter()
        .find(|(_, ty)| ty.name.as_deref() == Some(structure))
        .unwrap_or_else(|| panic!("no structure {structure}"));
    let TypeInner::Struct { members, span } = &found.inner else {
        panic!("{structure} is no structure")
    };
    let members = members.iter().map(|m| (m.name.clone().unwrap_or_default(), m.offset)).collect();
    (members, *span)
}

/// Compares a `repr(C)` structure with the shader's of the same name, member by member.
macro_rules! same_layout {
    ($module:expr, $structure:ident: $($member:ident),+) => {{
        let (members, size) = laid_out($module, stringify!($structure));
        let ours = [$((stringify!($member), std::mem::offset_of!(layout::$structure, $member))),+];
        let ours: Vec<(String, u32)> =
            ours.iter().map(|(name, at)| (name.to_string(), *at as u32)).collect();
        assert_eq!(members, ours, "{}", stringify!($structure));
        assert_eq!(size as usize, size_of::<layout::$structure>(), "{}", stringify!($structure));
    }};
}

#[test]
fn structures_lie_as_shaders_read_them() {
    let scene = parsed("scene", &shader::with_scene(""));
    same_layout!(&scene, Surface: reflectance, kind, shape, albedo_at);
    same_layout!(&scene, Film: position, shape, axis, beam, right, sides, up, sampler_at, size, reach,
        intensity, beam_shape, table_at, inverse_focus, shutters, glow, area, seen_area, share, cumulative);
    assert!(shader::with_scene("").contains(&format!("MOST_FILMS: u32 = {}u", layout::MOST_FILMS)));
}
