//! glTF 2.0 with KHR_lights_punctual, as one binary file.
//!
//! In: a stage. Out: `NAME.glb`, or `stage.glb` in a directory. What glTF can say is said in
//! glTF (meshes, base colour, roughness, camera, point and spot lights in candela, metres);
//! what it cannot (shape of an emitting front, its beam, cd·s of a flash, pupil and focus of the
//! lens, the exact surface) stands beside it in `extras`, in SI units with the unit in the key.
//!
//! A flash has no candela: its spot carries the cd·s at full power as if they lasted one second.
//!
//! ```text
//! node axes:  −Z forward (beam, view),  +Y up,  +X right = forward × up
//! ```

use std::f32::consts::FRAC_PI_2;
use std::f64::consts::PI;
use std::io::Write;
use std::path::{Path, PathBuf};

use glam::{Mat3, Quat, Vec3};
use gltf_json as json;
use json::extensions::scene::khr_lights_punctual as punctual;
use json::material::{PbrBaseColorFactor, PbrMetallicRoughness, StrengthFactor};
use json::mesh::{Mode, Primitive, Semantic};
use json::scene::UnitQuaternion;
use json::validation::Checked;
use json::{Index, Node, Root};
use serde_json::{Value, json};

use super::ExportError;
use super::binary::Packer;
use crate::layers::LightKind;
use crate::optics::beam::Beam;
use crate::optics::surface::{Scatter, Surface};
use crate::stage::{Camera, Light, Mesh, Source, SourceShape, Stage};

/// Writes the stage to `target`: a path ending in `.glb`, or a directory (made when missing)
/// that receives `stage.glb`. The file appears whole or not at all. Returns its path.
pub fn write(stage: &Stage, target: &Path) -> Result<PathBuf, ExportError> {
    let bytes = to_glb(stage)?;
    let is_file = target.extension().is_some_and(|e| e.eq_ignore_ascii_case("glb"));
    let path = if is_file && !target.is_dir() { target.into() } else { target.join("stage.glb") };
    let fault = |source| ExportError::Write { path: path.clone(), source };

    let folder = match path.parent() {
        Some(parent) if !parent.as_os_str().is_empty() => parent,
        _ => Path::new("."),
    };
    if !is_file {
        std::fs::create_dir_all(folder).map_err(fault)?;
    }
    let mut file = tempfile::NamedTempFile::new_in(folder).map_err(fault)?;
    file.write_all(&bytes).map_err(fault)?;
    file.as_file().sync_all().map_err(fault)?;
    file.persist(&path).map_err(|e| fault(e.error))?;
    Ok(path)
}

/// The stage as the bytes of a binary glTF file.
pub fn to_glb(stage: &Stage) -> Result<Vec<u8>, ExportError> {
    let mut root = Root::default();
    root.asset.generator = Some(format!("foreshadow {}", env!("CARGO_PKG_VERSION")));
    let mut packer = Packer::default();
    let mut nodes = Vec::new();

    for mesh in stage.meshes.iter().filter(|mesh| !mesh.triangles.is_empty()) {
        let index = push_mesh(&mut root, &mut packer, mesh)?;
        let node = Node { mesh: Some(index), name: Some(mesh.name.clone()), ..Node::default() };
        nodes.push(root.push(node));
    }

    let lights: Vec<_> = stage.lights.iter().map(punctual_light).collect();
    for (light, index) in stage.lights.iter().zip(0..) {
        let link = punctual::KhrLightsPunctual { light: Index::new(index) };
        let node = Node {
            extensions: Some(json::extensions::scene::Node { khr_lights_punctual: Some(link) }),
            ..placed(&light.name, light.source.position, light.source.axis, light.source.up)
        };
        nodes.push(root.push(node));
    }
    if !lights.is_empty() {
        root.extensions_used.push("KHR_lights_punctual".into());
        root.extensions = Some(json::extensions::root::Root {
            khr_lights_punctual: Some(json::extensions::root::KhrLightsPunctual { lights }),
        });
    }

    let camera = root.push(perspective(&stage.camera));
    let eye = &stage.camera;
    let node = Node { camera: Some(camera), ..placed("camera", eye.position, eye.forward, eye.up) };
    nodes.push(root.push(node));

    let has_coat = |mesh: &Mesh| matches!(mesh.surface.scatter, Scatter::Coated(_));
    if stage.meshes.iter().any(has_coat) {
        root.extensions_used.push("KHR_materials_ior".into());
    }
    let scene = root.push(json::Scene {
        name: Some("stage".into()),
        nodes,
        extensions: None,
        extras: None,
    });
    root.scene = Some(scene);
    packer.into_glb(root)
}

fn push_mesh(
    root: &mut Root,
    packer: &mut Packer,
    mesh: &Mesh,
) -> Result<Index<json::Mesh>, ExportError> {
    let vectors = [&mesh.positions, &mesh.normals, &mesh.tints];
    if vectors.iter().any(|list| list.iter().any(|v| !v.is_finite())) {
        return Err(ExportError::NotFinite { mesh: mesh.name.clone() });
    }
    let mut attributes = std::collections::BTreeMap::new();
    let positions = packer.vectors(root, &mesh.positions, true);
    attributes.insert(Checked::Valid(Semantic::Positions), positions);
    for (semantic, values) in
        [(Semantic::Normals, &mesh.normals), (Semantic::Colors(0), &mesh.tints)]
    {
        if !values.is_empty() {
            attributes.insert(Checked::Valid(semantic), packer.vectors(root, values, false));
        }
    }
    let indices = packer.triangles(root, &mesh.triangles);
    let material = root.push(material(&mesh.surface));
    Ok(root.push(json::Mesh {
        name: Some(mesh.name.clone()),
        primitives: vec![Primitive {
            attributes,
            indices: Some(indices),
            material: Some(material),
            mode: Checked::Valid(Mode::Triangles),
            targets: None,
            extensions: None,
            extras: None,
        }],
        weights: None,
        extensions: None,
        extras: extras(json!({ "role": format!("{:?}", mesh.role) })),
    }))
}

/// Base colour is the diffuse reflectance; glTF's roughness is the square root of GGX α
/// (Khronos Group, glTF 2.0 specification, appendix B.2.3).
fn material(surface: &Surface) -> json::Material {
    let (roughness, ior, scatter) = match &surface.scatter {
        Scatter::Diffuse => (1.0, None, json!({ "type": "diffuse" })),
        Scatter::Coated(coat) => (
            coat.alpha().sqrt(),
            Some(coat.ior()),
            json!({ "type": "coated", "ior": coat.ior(), "alpha": coat.alpha() }),
        ),
        Scatter::Velvet(velvet) => (1.0, None, json!({ "type": "velvet", "pile": velvet.pile() })),
        Scatter::Metal(metal) => {
            (metal.alpha().sqrt(), None, json!({ "type": "metal", "alpha": metal.alpha() }))
        }
    };
    let metallic = f32::from(u8::from(matches!(surface.scatter, Scatter::Metal(_))));
    let [r, g, b] = surface.reflectance.to_array();
    json::Material {
        name: Some(surface.name.clone()),
        double_sided: true,
        pbr_metallic_roughness: PbrMetallicRoughness {
            base_color_factor: PbrBaseColorFactor([r, g, b, 1.0]),
            metallic_factor: StrengthFactor(metallic),
            roughness_factor: StrengthFactor(roughness.clamp(0.0, 1.0)),
            ..PbrMetallicRoughness::default()
        },
        extensions: ior.map(|ior| json::extensions::material::Material {
            ior: Some(json::extensions::material::Ior {
                ior: json::extensions::material::IndexOfRefraction(ior),
                extras: None,
            }),
        }),
        extras: extras(json!({ "reflectance": [r, g, b], "scatter": scatter })),
        ..json::Material::default()
    }
}

fn punctual_light(light: &Light) -> punctual::Light {
    let source = &light.source;
    let (beam, half_power_rad) = beam(&source.beam);
    let spot = source.shape.all_round_m2().is_none();
    let (unit, note) = match light.kind {
        LightKind::Flash => ("cd_s", "flash: luminous intensity times flash time at full power"),
        LightKind::Continuous => ("cd", "continuous: luminous intensity at full power"),
    };
    punctual::Light {
        name: Some(light.name.clone()),
        color: [1.0; 3],
        intensity: source.axial_intensity as f32,
        range: None,
        type_: Checked::Valid(if spot { punctual::Type::Spot } else { punctual::Type::Point }),
        spot: spot.then(|| punctual::Spot {
            inner_cone_angle: 0.0,
            outer_cone_angle: spot_edge_rad(half_power_rad),
        }),
        extensions: None,
        extras: extras(json!({
            "on": light.on,
            "axial_intensity": source.axial_intensity,
            "unit": unit,
            "note": note,
            "shape": shape(source.shape),
            "beam": beam,
            "glow": glow(source),
            "also": light.also.iter().map(front).collect::<Vec<_>>(),
            "position_m": source.position.to_array(),
            "axis": source.axis.to_array(),
            "right": source.right.to_array(),
            "up": source.up.to_array(),
        })),
    }
}

/// A further front of a light, as the main one is told.
fn front(source: &Source) -> Value {
    json!({
        "axial_intensity": source.axial_intensity,
        "shape": shape(source.shape),
        "beam": beam(&source.beam).0,
        "glow": glow(source),
        "position_m": source.position.to_array(),
        "axis": source.axis.to_array(),
        "right": source.right.to_array(),
        "up": source.up.to_array(),
    })
}

fn glow(source: &Source) -> Value {
    source
        .glow
        .map_or(Value::Null, |glow| json!({ "behind_m": glow.behind_m, "power": glow.power }))
}

fn shape(shape: SourceShape) -> Value {
    match shape {
        SourceShape::Disc { radius_m } => json!({ "type": "disc", "radius_m": radius_m }),
        SourceShape::Ring { radius_m, hole_m } => {
            json!({ "type": "ring", "radius_m": radius_m, "hole_m": hole_m })
        }
        SourceShape::Rectangle { width_m, height_m } => {
            json!({ "type": "rectangle", "width_m": width_m, "height_m": height_m })
        }
        SourceShape::Polygon { sides, radius_m } => {
            json!({ "type": "polygon", "sides": sides, "radius_m": radius_m })
        }
        SourceShape::Tube { radius_m, length_m } => {
            json!({ "type": "tube", "radius_m": radius_m, "length_m": length_m })
        }
        SourceShape::Ball { radius_m } => json!({ "type": "ball", "radius_m": radius_m }),
    }
}

/// The beam as told, and the angle from the axis at which it has half its peak.
fn beam(beam: &Beam) -> (Value, f64) {
    let half = || 0.5 * beam.full_angle_rad(0.5, 0.0).unwrap_or(PI);
    match beam {
        Beam::Cosine { exponent } => (
            json!({ "type": "cosine", "exponent": exponent }),
            0.5_f64.powf(1.0 / exponent.max(f64::MIN_POSITIVE)).acos(),
        ),
        Beam::Dish { beam_rad, field_rad } => (
            json!({ "type": "dish", "beam_rad": beam_rad, "field_rad": field_rad }),
            0.5 * beam_rad,
        ),
        Beam::Gate(gate) => (
            json!({
                "type": "gate",
                "iris_tan": gate.iris,
                "across_tan": gate.across,
                "upward_tan": gate.upward,
                "focus_m": gate.focus_m,
            }),
            half(),
        ),
        Beam::Table(table) => {
            let (rings, sectors) = table.size();
            (
                json!({
                    "type": "table",
                    "rings": rings,
                    "sectors": sectors,
                    "relative_intensity": table.values(),
                }),
                half(),
            )
        }
    }
}

/// The outer cone angle at which a punctual spot has half its intensity at `half_power_rad`.
///
/// With an inner angle of 0 the extension's recommended fall-off is
/// ((cos θ − cos θo)/(1 − cos θo))²; it is ½ where cos θ = cos θo + √½·(1 − cos θo).
fn spot_edge_rad(half_power_rad: f64) -> f32 {
    let root_half = std::f64::consts::FRAC_1_SQRT_2;
    let cos_edge = (half_power_rad.cos() - root_half) / (1.0 - root_half);
    // The extension allows no cone wider than a half-space.
    (cos_edge.clamp(0.0, 1.0).acos() as f32).clamp(1e-3, FRAC_PI_2)
}

/// The field of view is that of the lens as focused: the image stands v = f·s/(s − f) behind it.
fn perspective(camera: &Camera) -> json::Camera {
    let [width_m, height_m] = camera.sensor_m;
    let image_m = camera.focal_m * camera.focus_m / (camera.focus_m - camera.focal_m);
    json::Camera {
        name: Some("camera".into()),
        orthographic: None,
        perspective: Some(json::camera::Perspective {
            aspect_ratio: Some((width_m / height_m) as f32),
            yfov: (2.0 * (0.5 * height_m / image_m).atan()) as f32,
            zfar: None,
            znear: 0.01,
            extensions: None,
            extras: None,
        }),
        type_: Checked::Valid(json::camera::Type::Perspective),
        extensions: None,
        extras: extras(json!({
            "sensor_m": camera.sensor_m,
            "focal_m": camera.focal_m,
            "pupil_radius_m": camera.pupil_radius_m,
            "focus_m": camera.focus_m,
            "position_m": camera.position.to_array(),
            "forward": camera.forward.to_array(),
            "right": camera.right.to_array(),
            "up": camera.up.to_array(),
        })),
    }
}

fn placed(name: &str, position: Vec3, forward: Vec3, up: Vec3) -> Node {
    let right = forward.cross(up).normalize();
    let rotation = Quat::from_mat3(&Mat3::from_cols(right, right.cross(forward), -forward));
    Node {
        name: Some(name.into()),
        translation: Some(position.to_array()),
        rotation: Some(UnitQuaternion(rotation.normalize().to_array())),
        ..Node::default()
    }
}

fn extras(value: Value) -> json::Extras {
    let raw = json::extras::RawValue::from_string(value.to_string());
    Some(raw.expect("a JSON value prints as JSON"))
}
