// A point of a path where light is turned; twin of src/trace/vertex.rs.

struct Vertex {
    position: vec3f,
    surface: u32,
    // on the side of `outgoing`
    geometric: vec3f,
    shading: vec3f,
    // to the previous vertex
    outgoing: vec3f,
    reflectance: vec3f,
}

fn vertex_at(hit: Nearest, origin: vec3f, direction: vec3f) -> Vertex {
    let triangle = hit.triangle;
    let c0 = corners[3u * triangle];
    let c1 = corners[3u * triangle + 1u];
    let c2 = corners[3u * triangle + 2u];
    let e1 = c1.xyz - c0.xyz;
    let e2 = c2.xyz - c0.xyz;
    let p = cross(direction, e2);
    let inverse = 1.0 / dot(e1, p);
    let s = origin - c0.xyz;
    let q = cross(s, e1);
    let u = clamp(dot(s, p) * inverse, 0.0, 1.0);
    let v = clamp(dot(direction, q) * inverse, 0.0, 1.0 - u);
    let w = 1.0 - u - v;
    var geometric = normalize(cross(e1, e2));
    let smooth_normal = unpack_normal(bitcast<u32>(c0.w)) * w
        + unpack_normal(bitcast<u32>(c1.w)) * u + unpack_normal(bitcast<u32>(c2.w)) * v;
    let size = length(smooth_normal);
    var shading = geometric;
    if size > 0.0 {
        shading = smooth_normal / size;
    }
    if dot(geometric, direction) > 0.0 {
        geometric = -geometric;
    }
    if dot(shading, geometric) < 0.0 {
        shading = -shading;
    }
    let facet = facets[2u * triangle];
    let rest = facets[2u * triangle + 1u];
    let middle = unpack2x16float(facet.z);
    let t0 = vec3f(unpack2x16float(facet.y), middle.x);
    let t1 = vec3f(middle.y, unpack2x16float(facet.w));
    let t2 = vec3f(unpack2x16float(rest.x), unpack2x16float(rest.y).x);
    let reflectance = surfaces[facet.x].reflectance * (t0 * w + t1 * u + t2 * v);
    let position = c0.xyz * w + c1.xyz * u + c2.xyz * v;
    return Vertex(position, facet.x, geometric, shading, -direction, reflectance);
}

fn to_local(v: Vertex, frame: Basis, d: vec3f) -> vec3f {
    return vec3f(dot(d, frame.t), dot(d, frame.b), dot(d, v.shading));
}

// f and densities between the vertex's outgoing direction and `incoming`, both world.
fn vertex_scatter(v: Vertex, incoming: vec3f) -> Scattered {
    let frame = basis(v.shading);
    let wo = to_local(v, frame, v.outgoing);
    let wi = to_local(v, frame, incoming);
    var found = surface_scatter(surfaces[v.surface], v.reflectance, wo, wi);
    if dot(incoming, v.geometric) <= 0.0 {
        found.f = vec3f(0.0);
    }
    return found;
}

// A direction for the next vertex; zero where the path ends.
fn vertex_draw(v: Vertex, u: vec3f) -> vec3f {
    let frame = basis(v.shading);
    let wo = to_local(v, frame, v.outgoing);
    let local = surface_sample(surfaces[v.surface], v.reflectance, wo, u);
    if local.z <= 0.0 {
        return vec3f(0.0);
    }
    let direction = normalize(frame.t * local.x + frame.b * local.y + v.shading * local.z);
    return select(vec3f(0.0), direction, dot(direction, v.geometric) > 0.0);
}

// Probability that a light sub-path goes on from here.
fn light_share(v: Vertex) -> f32 {
    return clamp(max_element(v.reflectance), 0.1, 0.95);
}

// Probability that a camera sub-path goes on from here: less, since the pool holds the later
// bounces already.
fn camera_share(v: Vertex) -> f32 {
    return clamp(0.6 * max_element(v.reflectance), 0.1, 0.95);
}

// How much less a camera sub-path is trusted than its density says.
const CAMERA_TRUST: f32 = 0.25;

// The share as the weights see it.
fn camera_trust(v: Vertex) -> f32 {
    return CAMERA_TRUST * camera_share(v);
}
