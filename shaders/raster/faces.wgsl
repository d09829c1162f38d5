// One shadow map's view: a pyramid of directions; twin of `Face` in src/raster/receivers.rs.

struct Face {
    // world metres
    origin: vec3f,
    layer: u32,
    right: vec3f,
    // nothing is drawn nearer, metres
    near: f32,
    up: vec3f,
    // size of a texel at unit distance
    texel: f32,
    forward: vec3f,
    // texels of the map's side
    map_size: f32,
    // tangents: middle x, y; half width, height
    bounds: vec4f,
    // 1 where it is drawn from coarse meshes
    coarse: u32,
    // how far those may be off, metres
    deviation: f32,
    pad: vec2u,
}

// Offsets along right, up and forward.
fn face_local(face: Face, world: vec3f) -> vec3f {
    let offset = world - face.origin;
    return vec3f(dot(offset, face.right), dot(offset, face.up), dot(offset, face.forward));
}
