// One jittered view through one point of the lens; twin of `View` in src/raster/gbuffer.rs.
//
//   a = tangent across the frame from the middle of the lens, l = lens point, s = focus:
//   a point at depth Z and offset X from the lens point falls at a = X/Z + l/s.

struct View {
    // lens point, world metres
    origin: vec3f,
    near: f32,
    right: vec3f,
    // lens point over focus distance
    shear_x: f32,
    up: vec3f,
    shear_y: f32,
    forward: vec3f,
    pad: u32,
    // tangents of half the frame
    half: vec2f,
    // where in the pixel the sample lies, 0..1 from its top left
    jitter: vec2f,
    size: vec2u,
    pad_after: vec2u,
}
