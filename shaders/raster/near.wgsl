// Short rays through the set's own triangles: the last stretch of a shadow ray, for whose rest a
// shadow map answers, and what lies close about a point.

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
    surface: u32,
    edge: vec3f,
    pad: f32,
    other: vec3f,
    pad_after: f32,
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

// Distance at which a ray meets a triangle (Möller & Trumbore 1997); FAR if it does not.
fn meets(facet: Facet, origin: vec3f, way: vec3f) -> f32 {
    let p = cross(way, facet.other);
    let det = dot(facet.edge, p);
    if det == 0.0 {
        return FAR;
    }
    let inverse = 1.0 / det;
    let s = origin - facet.corner;
    let u = dot(s, p) * inverse;
    let q = cross(s, facet.edge);
    let v = dot(way, q) * inverse;
    let t = dot(facet.other, q) * inverse;
    return select(FAR, t, u >= 0.0 && v >= 0.0 && u + v <= 1.0 && t > 0.0);
}

struct Near {
    distance: f32,
    facet: u32,
}

// The nearest triangle below `root` within `reach` metres along a unit direction; with `any`, the
// first that is found. FAR if there is none.
fn along(root: u32, origin: vec3f, way: vec3f, reach: f32, any: bool) -> Near {
    let steady = select(way, vec3f(1e-20), abs(way) < vec3f(1e-20));
    let inverse = 1.0 / steady;
    var nearest = Near(FAR, 0u);
    var limit = reach;
    var stack: array<u32, STACK>;
    var top = 1u;
    stack[0] = root;
    while top > 0u {
        top -= 1u;
        let node = nodes[stack[top]];
        if !in_box(node, origin, inverse, limit) {
            continue;
        }
        if node.count == 0u {
            stack[top] = node.first;
            stack[top + 1u] = node.first + 1u;
            top += 2u;
            continue;
        }
        for (var i = 0u; i < node.count; i += 1u) {
            let t = meets(facets[node.first + i], origin, way);
            if t < limit {
                limit = t;
                nearest = Near(t, node.first + i);
                if any {
                    return nearest;
                }
            }
        }
    }
    return nearest;
}
