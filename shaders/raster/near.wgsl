// The last stretch of a shadow ray, exactly: what stands between a point and a little way toward
// its light. A shadow map answers for the rest.

struct Node {
    low: vec3f,
    // triangles of a leaf; 0 for a fork
    count: u32,
    high: vec3f,
    // first triangle, or the first of two children
    first: u32,
}

struct Facet {
    corner: vec3f,
    edge: vec3f,
    other: vec3f,
}

@group(1) @binding(0) var<storage, read> nodes: array<Node>;
@group(1) @binding(1) var<storage, read> facets: array<Facet>;

const STACK: u32 = 64u;

fn in_box(node: Node, origin: vec3f, inverse: vec3f, reach: f32) -> bool {
    let a = (node.low - origin) * inverse;
    let b = (node.high - origin) * inverse;
    let low = min(a, b);
    let high = max(a, b);
    let enter = max(max(low.x, low.y), max(low.z, 0.0));
    let leave = min(min(high.x, high.y), min(high.z, reach));
    return enter <= leave;
}

fn hits(facet: Facet, origin: vec3f, way: vec3f, reach: f32) -> bool {
    let p = cross(way, facet.other);
    let det = dot(facet.edge, p);
    if det == 0.0 {
        return false;
    }
    let inverse = 1.0 / det;
    let s = origin - facet.corner;
    let u = dot(s, p) * inverse;
    let q = cross(s, facet.edge);
    let v = dot(way, q) * inverse;
    let t = dot(facet.other, q) * inverse;
    return u >= 0.0 && v >= 0.0 && u + v <= 1.0 && t > 0.0 && t < reach;
}

// Whether anything below `root` stands within `reach` metres along a unit direction.
fn stands_in_way(root: u32, origin: vec3f, way: vec3f, reach: f32) -> bool {
    let steady = select(way, vec3f(1e-20), abs(way) < vec3f(1e-20));
    let inverse = 1.0 / steady;
    var stack: array<u32, STACK>;
    var top = 1u;
    stack[0] = root;
    while top > 0u {
        top -= 1u;
        let node = nodes[stack[top]];
        if !in_box(node, origin, inverse, reach) {
            continue;
        }
        if node.count == 0u {
            stack[top] = node.first;
            stack[top + 1u] = node.first + 1u;
            top += 2u;
            continue;
        }
        for (var i = 0u; i < node.count; i += 1u) {
            if hits(facets[node.first + i], origin, way, reach) {
                return true;
            }
        }
    }
    return false;
}
