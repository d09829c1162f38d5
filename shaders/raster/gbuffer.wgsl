// What the lens sees: depth, normals, surface and tint of the nearest surface of each pixel.

@group(0) @binding(0) var<uniform> view: View;

struct Passed {
    @builtin(position) clip: vec4f,
    // from the lens point, metres
    @location(0) offset: vec3f,
    @location(1) normal: vec3f,
    @location(2) tint: vec3f,
    @location(3) @interpolate(flat) surface: u32,
}

@vertex
fn vertex(
    @location(0) position: vec3f,
    @location(1) surface: u32,
    @location(2) normal: vec3f,
    @location(3) tint: vec3f,
) -> Passed {
    let offset = position - view.origin;
    let x = dot(offset, view.right);
    let y = dot(offset, view.up);
    let z = dot(offset, view.forward);
    // the pixel's middle is where the sample is taken: shift the frame by what it is off
    let shift = (vec2f(0.5) - view.jitter) * vec2f(2.0, -2.0) / vec2f(view.size);
    let clip = vec2f((x + z * view.shear_x) / view.half.x, (y + z * view.shear_y) / view.half.y);
    return Passed(vec4f(clip + shift * z, view.near, z), offset, normal, tint, surface);
}

@fragment
fn fragment(passed: Passed) -> @location(0) vec4u {
    var geometric = normalize(cross(dpdx(passed.offset), dpdy(passed.offset)));
    geometric = select(geometric, -geometric, dot(geometric, passed.offset) > 0.0);
    var shading = normalize(passed.normal);
    shading = select(shading, -shading, dot(shading, geometric) < 0.0);
    // tints are factors from 0 to 2
    let t = vec3u(clamp(passed.tint * 0.5, vec3f(0.0), vec3f(1.0)) * vec3f(2047.0, 2047.0, 1023.0) + 0.5);
    return vec4u(
        pack_normal(geometric),
        pack_normal(shading),
        t.x | (t.y << 11u) | (t.z << 22u),
        passed.surface + 1u,
    );
}

// Octahedral map (Cigolle et al. 2014), undone by `unpack_normal`.
fn pack_normal(n: vec3f) -> u32 {
    var e = n.xy / (abs(n.x) + abs(n.y) + abs(n.z));
    if n.z < 0.0 {
        let fold = 1.0 - abs(e.yx);
        e = select(-fold, fold, e >= vec2f(0.0));
    }
    return pack2x16snorm(e);
}
