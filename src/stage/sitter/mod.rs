//! The sitter: skeleton, signed-distance body, meshes and marks.
