// Depth of the nearest shadow caster from a light point, as near/distance along the face's axis.

@group(0) @binding(0) var<uniform> face: Face;

@vertex
fn vertex(@location(0) position: vec3f) -> @builtin(position) vec4f {
    let p = face_local(face, position);
    let clip = (p.xy - face.bounds.xy * p.z) / face.bounds.zw;
    return vec4f(clip, face.near, p.z);
}
