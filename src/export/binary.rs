//! The binary side of a glTF file: packed vertex arrays and the GLB container.
//!
//! In: slices of vectors and indices. Out: accessors into one growing buffer, and the container
//! that joins the JSON document with that buffer.
//!
//! ```text
//! "glTF" | version 2 | total length        12-byte header
//! length | "JSON"    | document, padded with spaces to 4 bytes
//! length | "BIN\0"   | buffer, padded with zeros to 4 bytes
//! ```
//! (Khronos Group, glTF 2.0 specification, section 4 "GLB File Format Specification".)

use gltf_json as json;
use json::accessor::{Accessor, ComponentType, GenericComponentType, Type};
use json::buffer::{Buffer, Target, View};
use json::validation::{Checked, USize64};
use json::{Index, Root};

use super::ExportError;

/// Packs arrays one behind another and keeps their views in the document.
#[derive(Default)]
pub(super) struct Packer {
    bytes: Vec<u8>,
}

impl Packer {
    /// Appends vectors as one accessor; `bounded` records the minimum and maximum, which the
    /// specification asks of positions.
    pub(super) fn vectors(
        &mut self,
        root: &mut Root,
        values: &[glam::Vec3],
        bounded: bool,
    ) -> Index<Accessor> {
        let bounds = bounded.then(|| {
            values.iter().fold((values[0], values[0]), |(low, high), &v| (low.min(v), high.max(v)))
        });
        let view = self.view(root, bytemuck::cast_slice(values), Target::ArrayBuffer);
        root.push(Accessor {
            min: bounds.map(|(low, _)| json::serialize::to_value(low.to_array()).expect("numbers")),
            max: bounds
                .map(|(_, high)| json::serialize::to_value(high.to_array()).expect("numbers")),
            ..accessor(view, values.len(), ComponentType::F32, Type::Vec3)
        })
    }

    /// Appends triangles as one accessor of indices.
    pub(super) fn triangles(&mut self, root: &mut Root, triangles: &[[u32; 3]]) -> Index<Accessor> {
        let view = self.view(root, bytemuck::cast_slice(triangles), Target::ElementArrayBuffer);
        root.push(accessor(view, triangles.len() * 3, ComponentType::U32, Type::Scalar))
    }

    fn view(&mut self, root: &mut Root, bytes: &[u8], target: Target) -> Index<View> {
        let offset = self.bytes.len();
        self.bytes.extend_from_slice(bytes);
        root.push(View {
            buffer: Index::new(0),
            byte_length: USize64::from(bytes.len()),
            byte_offset: Some(USize64::from(offset)),
            byte_stride: None,
            name: None,
            target: Some(Checked::Valid(target)),
            extensions: None,
            extras: None,
        })
    }

    /// Closes the document over the packed buffer and joins both in a GLB container.
    pub(super) fn into_glb(self, mut root: Root) -> Result<Vec<u8>, ExportError> {
        root.buffers = vec![Buffer {
            byte_length: USize64::from(self.bytes.len()),
            name: None,
            uri: None,
            extensions: None,
            extras: None,
        }];
        let mut document = root.to_string().expect("a document of numbers and names").into_bytes();
        document.resize(document.len().next_multiple_of(4), b' ');
        let mut binary = self.bytes;
        binary.resize(binary.len().next_multiple_of(4), 0);

        let total = 12 + 8 + document.len() as u64 + 8 + binary.len() as u64;
        let total_u32 = u32::try_from(total).map_err(|_| ExportError::TooLarge { bytes: total })?;
        let mut glb = Vec::with_capacity(total as usize);
        glb.extend_from_slice(b"glTF");
        glb.extend_from_slice(&2_u32.to_le_bytes());
        glb.extend_from_slice(&total_u32.to_le_bytes());
        for (kind, chunk) in [(b"JSON", &document), (b"BIN\0", &binary)] {
            glb.extend_from_slice(&(chunk.len() as u32).to_le_bytes());
            glb.extend_from_slice(kind);
            glb.extend_from_slice(chunk);
        }
        Ok(glb)
    }
}

fn accessor(view: Index<View>, count: usize, component: ComponentType, kind: Type) -> Accessor {
    Accessor {
        buffer_view: Some(view),
        byte_offset: Some(USize64(0)),
        count: USize64::from(count),
        component_type: Checked::Valid(GenericComponentType(component)),
        extensions: None,
        extras: None,
        type_: Checked::Valid(kind),
        min: None,
        max: None,
        name: None,
        normalized: false,
        sparse: None,
    }
}
