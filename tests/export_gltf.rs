//! Promise: an exported stage is valid glTF 2.0 and says what the stage says.
//!
//! Read back with an independent loader that validates the document.

#[path = "peers/stages.rs"]
#[expect(dead_code, reason = "the peer test uses the rest")]
mod stages;

use foreshadow::export::{ExportError, gltf};
use foreshadow::stage::{SourceShape, Stage};
use glam::{Quat, Vec3};

/// The file's document and buffer, by the independent loader with its validation.
fn read_back(stage: &Stage) -> (::gltf::Document, Vec<u8>) {
    let bytes = gltf::to_glb(stage).expect("the stage exports");
    let read = ::gltf::Gltf::from_slice(&bytes).expect("valid binary glTF");
    (read.document, read.blob.expect("a binary chunk"))
}

#[test]
fn meshes_keep_vertices_normals_tints_and_triangles() {
    let stage = stages::studio();
    let (document, blob) = read_back(&stage);
    assert_eq!(document.meshes().count(), stage.meshes.len());
    for (read, mesh) in document.meshes().zip(&stage.meshes) {
        assert_eq!(read.name(), Some(mesh.name.as_str()));
        let primitive = read.primitives().next().expect("one primitive");
        let reader = primitive.reader(|_| Some(&blob));
        let vectors = |values: Option<Vec<[f32; 3]>>| -> Vec<Vec3> {
            values.unwrap_or_default().into_iter().map(Vec3::from_array).collect()
        };
        assert_eq!(vectors(reader.read_positions().map(Iterator::collect)), mesh.positions);
        assert_eq!(vectors(reader.read_normals().map(Iterator::collect)), mesh.normals);
        let tints = reader.read_colors(0).map(|colours| colours.into_rgb_f32().collect());
        assert_eq!(vectors(tints), mesh.tints);
        let indices: Vec<u32> = reader.read_indices().expect("indices").into_u32().collect();
        assert_eq!(indices, mesh.triangles.concat());

        let bounds = primitive.bounding_box();
        let low = mesh.positions.iter().copied().reduce(Vec3::min).expect("vertices");
        let high = mesh.positions.iter().copied().reduce(Vec3::max).expect("vertices");
        assert_eq!((bounds.min, bounds.max), (low.to_array(), high.to_array()));

        let material = primitive.material();
        assert!(material.double_sided());
        let look = material.pbr_metallic_roughness();
        assert_eq!(look.base_color_factor()[..3], mesh.surface.reflectance.to_array());
        assert_eq!(look.metallic_factor(), 0.0);
    }
}

#[test]
fn a_coat_is_told_by_index_and_roughness() {
    let (document, _) = read_back(&stages::studio());
    let ball = document.materials().find(|m| m.name() == Some("ball")).expect("the ball's");
    // GGX α 0.3 is an artist's roughness of √0.3
    assert!((ball.pbr_metallic_roughness().roughness_factor() - 0.3_f32.sqrt()).abs() < 1e-6);
    assert_eq!(ball.ior(), Some(1.4));
    let matt = document.materials().find(|m| m.name() == Some("ceiling")).expect("the ceiling's");
    assert_eq!((matt.pbr_metallic_roughness().roughness_factor(), matt.ior()), (1.0, None));
}

#[test]
fn lights_shine_along_minus_z_from_their_place_at_their_intensity() {
    let stage = stages::studio();
    let (document, _) = read_back(&stage);
    let mut found = 0;
    for node in document.nodes() {
        let Some(read) = node.light() else { continue };
        let light = stage.lights.iter().find(|l| Some(l.name.as_str()) == read.name());
        let source = &light.expect("a light of the stage").source;
        let (translation, rotation, scale) = node.transform().decomposed();
        assert_eq!(translation, source.position.to_array());
        assert_eq!(scale, [1.0; 3]);
        let rotation = Quat::from_array(rotation);
        assert!((rotation * -Vec3::Z - source.axis).length() < 1e-5, "{:?}", read.name());
        assert!((rotation * Vec3::Y - source.up).length() < 1e-5, "{:?}", read.name());
        assert_eq!(read.intensity(), source.axial_intensity as f32);
        let tube = matches!(source.shape, SourceShape::Tube { .. });
        let point = matches!(read.kind(), ::gltf::khr_lights_punctual::Kind::Point);
        assert_eq!(tube, point);
        found += 1;
    }
    assert_eq!(found, stage.lights.len());
}

#[test]
fn a_spot_has_half_its_light_at_half_the_beam_angle() {
    use ::gltf::khr_lights_punctual::Kind;
    let (document, _) = read_back(&stages::studio());
    let key = document.lights().expect("lights").find(|l| l.name() == Some("key")).expect("key");
    let Kind::Spot { inner_cone_angle, outer_cone_angle } = key.kind() else { panic!("a spot") };
    assert_eq!(inner_cone_angle, 0.0);
    // the extension's recommended fall-off: the square of a ramp in the cosine
    let ramp =
        (17.5_f32.to_radians().cos() - outer_cone_angle.cos()) / (1.0 - outer_cone_angle.cos());
    assert!((ramp * ramp - 0.5).abs() < 1e-3, "{}", ramp * ramp);
}

#[test]
fn the_camera_has_the_field_of_the_focused_lens() {
    let stage = stages::studio();
    let (document, _) = read_back(&stage);
    let node = document.nodes().find(|n| n.camera().is_some()).expect("a camera");
    let camera = node.camera().expect("the node's camera");
    let ::gltf::camera::Projection::Perspective(view) = camera.projection() else {
        panic!("a perspective camera")
    };
    // 35 mm focused at s: v = f·s/(s − f), a 24 mm high frame
    let s = stage.camera.focus_m;
    let v = 0.035 * s / (s - 0.035);
    assert!((f64::from(view.yfov()) - 2.0 * (0.012 / v).atan()).abs() < 1e-6);
    assert_eq!(view.aspect_ratio(), Some(1.5));
    let (translation, rotation, _) = node.transform().decomposed();
    assert_eq!(translation, stage.camera.position.to_array());
    let rotation = Quat::from_array(rotation);
    assert!((rotation * -Vec3::Z - stage.camera.forward).length() < 1e-5);
    assert!((rotation * Vec3::X - stage.camera.right).length() < 1e-5);
    let extras = camera.extras().as_ref().expect("extras").get().to_owned();
    let lens: serde_json::Value = serde_json::from_str(&extras).expect("JSON");
    assert_eq!(lens["focal_m"], 0.035);
    assert_eq!(lens["pupil_radius_m"], stage.camera.pupil_radius_m);
    assert_eq!(lens["focus_m"], s);
}

#[test]
fn extras_hold_the_exact_source() {
    let stage = stages::studio();
    let (document, _) = read_back(&stage);
    let read = document.lights().expect("lights").find(|l| l.name() == Some("key")).expect("key");
    let extras = read.extras().as_ref().expect("extras").get();
    let told: serde_json::Value = serde_json::from_str(extras).expect("JSON");
    assert_eq!(told["unit"], "cd_s");
    assert_eq!(told["axial_intensity"], 5000.0);
    assert_eq!(told["shape"]["radius_m"], 0.09);
    assert_eq!(told["beam"]["beam_rad"], 35_f64.to_radians());
    let room = document.lights().expect("lights").last().expect("the room's");
    assert!(room.extras().as_ref().expect("extras").get().contains(r#""unit":"cd""#));
}

#[test]
fn a_directory_gets_one_file_and_no_leftovers() {
    let folder = tempfile::tempdir().expect("a folder");
    let target = folder.path().join("new/set");
    let written = gltf::write(&stages::attic(), &target).expect("written");
    assert_eq!(written, target.join("stage.glb"));
    let again = gltf::write(&stages::attic(), &target).expect("written over");
    assert_eq!(std::fs::read_dir(&target).expect("the folder").count(), 1);
    let bytes = std::fs::read(again).expect("the file");
    assert_eq!(bytes, gltf::to_glb(&stages::attic()).expect("the stage exports"));
}

#[test]
fn faults_leave_nothing_behind() {
    let folder = tempfile::tempdir().expect("a folder");
    let missing = folder.path().join("nowhere/set.glb");
    let fault = gltf::write(&stages::attic(), &missing).expect_err("no such folder");
    assert!(matches!(fault, ExportError::Write { .. }), "{fault}");

    let mut broken = stages::attic();
    broken.meshes[0].positions[0].x = f32::NAN;
    let target = folder.path().join("broken.glb");
    let fault = gltf::write(&broken, &target).expect_err("not a number");
    assert!(fault.to_string().contains("ceiling"), "{fault}");
    assert_eq!(std::fs::read_dir(folder.path()).expect("the folder").count(), 0);
}
