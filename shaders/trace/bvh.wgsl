// Rays against triangles through compressed eight-wide nodes (Ylitie, Karras & Laine 2017,
// 'Efficient Incoherent Ray Traversal on GPUs Through Compressed Wide BVHs'); the nodes are the
// processor's own. STACK is set from the tree's depth, so it cannot overflow.

// Five words of four a node: origin, exponents and inner mask; bases and meta; planes in x, y, z.
@group(1) @binding(0) var<storage, read> nodes: array<vec4u>;
// Three a triangle: corner, packed normal there.
@group(1) @binding(1) var<storage, read> corners: array<vec4f>;
// Two a triangle: surface, then tints as halves.
@group(1) @binding(2) var<storage, read> facets: array<vec4u>;

// Rays start this far off a surface, metres; twin of LIFT_M.
const LIFT: f32 = 2e-5;
const NOTHING: u32 = 0xffffffffu;
const INNER: u32 = 0xff000000u;

struct Nearest {
    distance: f32,
    // NOTHING if nothing was met
    triangle: u32,
}

fn safe_inverse(x: f32) -> f32 {
    const EPSILON: f32 = 1.1920929e-7;
    return select(1.0 / x, select(1.0, -1.0, x < 0.0) / EPSILON, abs(x) <= EPSILON);
}

// Which children of a node a ray meets: inner ones by priority in the high byte, triangles below.
fn node_hits(
    at: u32, origin: vec3f, inverse: vec3f, negative: vec3<bool>, octant: u32, reach: f32,
) -> vec4u {
    let head = nodes[at];
    let bases = nodes[at + 1u];
    let x = nodes[at + 2u];
    let y = nodes[at + 3u];
    let z = nodes[at + 4u];
    let extent = bitcast<vec3f>((vec3u(head.w, head.w >> 8u, head.w >> 16u) & vec3u(0xffu)) << vec3u(23u));
    let slope = extent * inverse;
    let start = (bitcast<vec3f>(head.xyz) - origin) * inverse;
    let near_x = select(x.xy, x.zw, negative.x);
    let near_y = select(y.xy, y.zw, negative.y);
    let near_z = select(z.xy, z.zw, negative.z);
    let far_x = select(x.zw, x.xy, negative.x);
    let far_y = select(y.zw, y.xy, negative.y);
    let far_z = select(z.zw, z.xy, negative.z);
    var hits = 0u;
    for (var half = 0u; half < 2u; half += 1u) {
        let meta_word = bases[2u + half];
        let inner = ((meta_word & (meta_word << 1u)) & 0x10101010u) >> 4u;
        let bits = (meta_word ^ (octant & (inner * 0xffu))) & 0x1f1f1f1fu;
        let counts = (meta_word >> 5u) & 0x07070707u;
        for (var shift = 0u; shift < 32u; shift += 8u) {
            let near = vec3f((vec3u(near_x[half], near_y[half], near_z[half]) >> vec3u(shift)) & vec3u(0xffu));
            let far = vec3f((vec3u(far_x[half], far_y[half], far_z[half]) >> vec3u(shift)) & vec3u(0xffu));
            let enter = near * slope + start;
            let leave = far * slope + start;
            let t_enter = max(max_element(enter), 1e-4);
            let t_leave = min(min(leave.x, min(leave.y, leave.z)), reach);
            if t_enter <= t_leave {
                hits |= ((counts >> shift) & 0xffu) << ((bits >> shift) & 0xffu);
            }
        }
    }
    return vec4u(hits, bases.x, bases.y, head.w >> 24u);
}

// Distance to a triangle before `reach`, else FAR.
fn triangle_distance(triangle: u32, origin: vec3f, direction: vec3f, reach: f32) -> f32 {
    let v0 = corners[3u * triangle].xyz;
    let e1 = v0 - corners[3u * triangle + 1u].xyz;
    let e2 = corners[3u * triangle + 2u].xyz - v0;
    let n = cross(e1, e2);
    let c = v0 - origin;
    let r = cross(direction, c);
    let inverse = 1.0 / dot(n, direction);
    let u = dot(r, e2) * inverse;
    let v = dot(r, e1) * inverse;
    let t = dot(n, c) * inverse;
    let hit = u >= 0.0 && v >= 0.0 && 1.0 - u - v >= 0.0 && t >= 0.0 && t <= reach;
    return select(FAR, t, hit);
}

// The nearest triangle before `reach`; any one will do if `first_met`.
fn traverse(origin: vec3f, direction: vec3f, reach: f32, first_met: bool) -> Nearest {
    let inverse = vec3f(safe_inverse(direction.x), safe_inverse(direction.y), safe_inverse(direction.z));
    let negative = direction < vec3f(0.0);
    let octant = select(0x04040404u, 0u, negative.x) | select(0x02020202u, 0u, negative.y)
        | select(0x01010101u, 0u, negative.z);
    var nearest = Nearest(reach, NOTHING);
    var stack: array<vec2u, STACK>;
    var top = 0u;
    // base and mask of the inner nodes to visit, and of the triangles
    var group = vec2u(0u, 0x80000000u);
    var leaves = vec2u(0u);
    loop {
        while leaves.y != 0u {
            let bit = firstLeadingBit(leaves.y);
            leaves.y &= ~(1u << bit);
            let triangle = leaves.x + bit;
            let t = triangle_distance(triangle, origin, direction, nearest.distance);
            if t < nearest.distance {
                nearest = Nearest(t, triangle);
                if first_met {
                    return nearest;
                }
            }
        }
        if (group.y & INNER) != 0u {
            let mask = group.y;
            let bit = firstLeadingBit(mask);
            group.y &= ~(1u << bit);
            if (group.y & INNER) != 0u {
                stack[top] = group;
                top += 1u;
            }
            let slot = (bit - 24u) ^ (octant & 0xffu);
            let child = group.x + countOneBits(mask & ~(0xffffffffu << slot));
            let met = node_hits(5u * child, origin, inverse, negative, octant, nearest.distance);
            group = vec2u(met.y, (met.x & INNER) | met.w);
            leaves = vec2u(met.z, met.x & ~INNER);
        }
        if leaves.y == 0u && (group.y & INNER) == 0u {
            if top == 0u {
                break;
            }
            top -= 1u;
            group = stack[top];
        }
    }
    return nearest;
}

// Whether nothing stands between two points, each lifted along its own normal.
fn is_visible(a: vec3f, a_normal: vec3f, b: vec3f, b_normal: vec3f) -> bool {
    let start = a + a_normal * LIFT;
    let span = b + b_normal * LIFT - start;
    let distance = length(span);
    if distance < 1e-7 {
        return true;
    }
    return traverse(start, span / distance, distance, true).triangle == NOTHING;
}
