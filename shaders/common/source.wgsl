// Fronts of lights and their beams; twin of src/stage/source.rs and src/optics/beam/.

const DISC: u32 = 0u;
const RING: u32 = 1u;
const RECTANGLE: u32 = 2u;
const POLYGON: u32 = 3u;
const TUBE: u32 = 4u;
const BALL: u32 = 5u;

const BEAM_COSINE: u32 = 0u;
const BEAM_DISH: u32 = 1u;
const BEAM_GATE: u32 = 2u;
const BEAM_TABLE: u32 = 3u;

// rings of a beam's sampler, and how many of them lie beyond its reach
const BINS: u32 = 512u;
const OUTER: u32 = 8u;

const MOST_FILMS: u32 = 400u;

// One emitting front, world metres.
struct Film {
    position: vec3f,
    shape: u32,
    axis: vec3f,
    beam: u32,
    right: vec3f,
    // polygon: its sides
    sides: u32,
    up: vec3f,
    // in `tables`: edges, cumulative, density of the sampler
    sampler_at: u32,
    // disc, ring, polygon: radius, hole; rectangle: width, height; tube: radius, length; ball: radius
    size: vec2f,
    // angle inside which the sampler's fine rings lie, radians
    reach: f32,
    // full-power intensity where the beam is 1, cd·s or cd
    intensity: f32,
    // cosine: exponent; dish: k, 2/beam angle; gate: tangent of the iris; table: rings, sectors
    beam_shape: vec2f,
    // in `tables`, ring-major
    table_at: u32,
    // 1/m of a gate's focus; 0 without
    inverse_focus: f32,
    // gate: left, right, lower, upper tangents
    shutters: vec4f,
    // 1/h², k, scale of the glow; scale 0 is even
    glow: vec3f,
    area: f32,
    // where it is Lambertian all round: the area that somebody sees who looks across it; else 0
    seen_area: f32,
    // probability that a sample is of this front, and of it or an earlier one
    share: f32,
    cumulative: f32,
}

@group(0) @binding(0) var<uniform> films: array<Film, MOST_FILMS>;

struct FrontPoint {
    position: vec3f,
    normal: vec3f,
    film: u32,
}

// I(θ)/I(0) toward a unit direction in the front's frame.
fn beam_toward(film: u32, local: vec3f) -> f32 {
    if local.z <= 0.0 {
        return 0.0;
    }
    let shape = films[film].beam_shape;
    switch films[film].beam {
        case BEAM_DISH: {
            let theta = angle_of_versine(1.0 - min(local.z, 1.0));
            return exp2(-exp2(shape.x * log2(max(theta * shape.y, 1e-20))));
        }
        case BEAM_GATE: {
            let p = local.xy / local.z;
            let shutters = films[film].shutters;
            let open = dot(p, p) <= shape.x * shape.x && p.x >= shutters.x && p.x <= shutters.y
                && p.y >= shutters.z && p.y <= shutters.w;
            return select(0.0, 1.0, open);
        }
        case BEAM_TABLE: {
            return beam_table(films[film].table_at, u32(shape.x), u32(shape.y), local);
        }
        default: {
            if shape.x == 1.0 {
                return local.z;
            }
            return pow(local.z, shape.x);
        }
    }
}

fn beam_table(first: u32, rings: u32, sectors: u32, local: vec3f) -> f32 {
    let theta = angle_of_versine(1.0 - min(local.z, 1.0));
    let at = theta / FRAC_PI_2 * f32(rings - 1u);
    let ring = min(u32(at), rings - 2u);
    let t = at - f32(ring);
    let inner = first + ring * sectors;
    let outer = inner + sectors;
    if sectors == 1u {
        return mix(tables[inner], tables[outer], t);
    }
    let turn = fract(atan2(local.y, local.x) / TAU);
    let across = turn * f32(sectors);
    let sector = min(u32(across), sectors - 1u);
    let next = (sector + 1u) % sectors;
    let s = across - f32(sector);
    let a = mix(tables[inner + sector], tables[inner + next], s);
    let b = mix(tables[outer + sector], tables[outer + next], s);
    return mix(a, b, t);
}

// The sampler's ring that holds 1 − cosθ.
fn beam_ring(film: u32, versine: f32) -> u32 {
    let edges = films[film].sampler_at;
    let reach = films[film].reach;
    let inner = f32(BINS - OUTER);
    let theta = angle_of_versine(versine);
    var guess = theta / reach * inner;
    if theta >= reach {
        guess = inner + (theta - reach) / max(FRAC_PI_2 - reach, 1e-9) * f32(OUTER);
    }
    var ring = min(u32(guess), BINS - 1u);
    while ring > 0u && versine < tables[edges + ring] {
        ring -= 1u;
    }
    while ring + 1u < BINS && versine >= tables[edges + ring + 1u] {
        ring += 1u;
    }
    return ring;
}

fn beam_density(film: u32, ring: u32) -> f32 {
    return tables[films[film].sampler_at + 2u * (BINS + 1u) + ring];
}

fn beam_pdf(film: u32, cos_theta: f32) -> f32 {
    if cos_theta <= 0.0 {
        return 0.0;
    }
    return beam_density(film, beam_ring(film, 1.0 - min(cos_theta, 1.0)));
}

// (cosθ, density in 1/sr); the azimuth is uniform.
fn beam_sample(film: u32, u: f32) -> vec2f {
    let edges = films[film].sampler_at;
    let cumulative = edges + BINS + 1u;
    // the first edge whose cumulative probability is above u, by halving
    var low = 0u;
    var high = BINS;
    while low < high {
        let middle = (low + high) / 2u;
        if tables[cumulative + middle] <= u {
            low = middle + 1u;
        } else {
            high = middle;
        }
    }
    let ring = clamp(low, 1u, BINS) - 1u;
    let below = tables[cumulative + ring];
    let above = tables[cumulative + ring + 1u];
    var t = 0.5;
    if above > below {
        t = clamp((u - below) / (above - below), 0.0, 1.0);
    }
    let versine = mix(tables[edges + ring], tables[edges + ring + 1u], t);
    return vec2f(1.0 - versine, beam_density(film, ring));
}

// Direction in the front's frame as its beam is written, and dω'/dω in w.
fn film_local(film: u32, position: vec3f, direction: vec3f) -> vec4f {
    let right = films[film].right;
    let up = films[film].up;
    let plain = vec3f(dot(direction, right), dot(direction, up), dot(direction, films[film].axis));
    let inverse_focus = films[film].inverse_focus;
    if inverse_focus == 0.0 || plain.z <= 0.0 {
        return vec4f(plain, 1.0);
    }
    let out = (position - films[film].position) * inverse_focus;
    let shift = vec2f(dot(out, right), dot(out, up));
    let seen = normalize(vec3f(plain.xy / plain.z + shift, 1.0));
    let ratio = seen.z / plain.z;
    return vec4f(seen, ratio * ratio * ratio);
}

fn film_glow(film: u32, position: vec3f) -> f32 {
    let glow = films[film].glow;
    if glow.z == 0.0 {
        return 1.0;
    }
    let out = position - films[film].position;
    return glow.z * pow(1.0 + dot(out, out) * glow.x, -glow.y);
}

// Radiance that leaves a point of a front: lm·s/(m²·sr) of a flash.
fn front_radiance(point: FrontPoint, direction: vec3f) -> f32 {
    let film = point.film;
    let cosine = dot(point.normal, direction);
    if cosine <= 1e-4 {
        return 0.0;
    }
    let intensity = films[film].intensity;
    if films[film].seen_area > 0.0 {
        return intensity / films[film].seen_area;
    }
    let local = film_local(film, point.position, direction);
    return intensity * beam_toward(film, local.xyz) * local.w * film_glow(film, point.position)
        / (films[film].area * cosine);
}

// Density of the direction of an emitted ray, 1/sr.
fn front_direction_pdf(point: FrontPoint, direction: vec3f) -> f32 {
    let cosine = dot(point.normal, direction);
    if cosine <= 1e-4 {
        return 0.0;
    }
    if films[point.film].seen_area > 0.0 {
        return cosine * FRAC_1_PI;
    }
    let local = film_local(point.film, point.position, direction);
    return beam_pdf(point.film, local.z) * local.w;
}

// Density of a point among all fronts of its light, 1/m².
fn front_area_pdf(point: FrontPoint) -> f32 {
    return films[point.film].share / films[point.film].area;
}

fn polygon_corner(film: u32, k: f32) -> vec2f {
    let angle = FRAC_PI_2 + (k - 0.5) * TAU / f32(films[film].sides);
    return vec2f(cos(angle), sin(angle)) * films[film].size.x;
}

// A point on one of a light's fronts: the front by its power, the point uniform on it.
fn front_point(first: u32, count: u32, sample: vec2f) -> FrontPoint {
    var film = first;
    var start = 0.0;
    while film + 1u < first + count && films[film].cumulative <= sample.x {
        start = films[film].cumulative;
        film += 1u;
    }
    var u = sample;
    if count > 1u {
        u.x = clamp((u.x - start) / films[film].share, 0.0, 1.0);
    }
    let size = films[film].size;
    let axis = films[film].axis;
    let right = films[film].right;
    let up = films[film].up;
    let centre = films[film].position;
    let phi = TAU * u.y;
    var p = vec2f(0.0);
    switch films[film].shape {
        case RECTANGLE: {
            p = (u - 0.5) * size;
        }
        case POLYGON: {
            let n = f32(films[film].sides);
            let wedge = min(floor(u.y * n), n - 1.0);
            let along = u.y * n - wedge;
            p = mix(polygon_corner(film, wedge), polygon_corner(film, wedge + 1.0), along)
                * sqrt(u.x);
        }
        case TUBE: {
            let side_share = size.y / (size.y + size.x);
            let radial = right * cos(phi) + up * sin(phi);
            if u.x < side_share {
                let along = (u.x / side_share - 0.5) * size.y;
                return FrontPoint(centre + axis * along + radial * size.x, radial, film);
            }
            let v = 2.0 * (u.x - side_share) / (1.0 - side_share);
            let near = v < 1.0;
            let side = select(-1.0, 1.0, near);
            let out = size.x * sqrt(select(v - 1.0, v, near));
            let end = centre + axis * (0.5 * size.y * side);
            return FrontPoint(end + radial * out, axis * side, film);
        }
        case BALL: {
            let along = 1.0 - 2.0 * u.x;
            let across = sqrt(max(1.0 - along * along, 0.0));
            let out = axis * along + (right * cos(phi) + up * sin(phi)) * across;
            return FrontPoint(centre + out * size.x, out, film);
        }
        // size.y is a disc's hole of zero
        default: {
            let hole2 = size.y * size.y;
            let r = sqrt(hole2 + u.x * (size.x * size.x - hole2));
            p = vec2f(r * cos(phi), r * sin(phi));
        }
    }
    return FrontPoint(centre + right * p.x + up * p.y, axis, film);
}

// A ray that leaves a light: its start, direction, density of the direction in 1/sr, and the flux
// it stands for.
struct Emission {
    origin: FrontPoint,
    direction: vec3f,
    pdf: f32,
    flux: f32,
}

fn front_emit(first: u32, count: u32, u_front: vec2f, u_direction: vec2f) -> Emission {
    let start = front_point(first, count, u_front);
    let film = start.film;
    var direction: vec3f;
    var pdf: f32;
    if films[film].seen_area > 0.0 {
        let cosine = sqrt(1.0 - u_direction.x);
        let local = around_z(cosine, u_direction.y);
        let frame = basis(start.normal);
        direction = normalize(frame.t * local.x + frame.b * local.y + start.normal * local.z);
        pdf = cosine * FRAC_1_PI;
    } else {
        let drawn = beam_sample(film, u_direction.x);
        let local = around_z(drawn.x, u_direction.y);
        pdf = drawn.y;
        let right = films[film].right;
        let up = films[film].up;
        let axis = films[film].axis;
        let inverse_focus = films[film].inverse_focus;
        if inverse_focus > 0.0 {
            let out = (start.position - films[film].position) * inverse_focus;
            let plain = local.xy / max(local.z, 1e-6) - vec2f(dot(out, right), dot(out, up));
            direction = normalize(right * plain.x + up * plain.y + axis);
            pdf *= film_local(film, start.position, direction).w;
        } else {
            direction = normalize(right * local.x + up * local.y + axis * local.z);
        }
    }
    var flux = 0.0;
    if pdf > 0.0 {
        flux = front_radiance(start, direction) * dot(direction, start.normal)
            / (front_area_pdf(start) * pdf);
    }
    return Emission(start, direction, pdf, flux);
}

// Where a ray first meets the emitting side of a front: normal, and the distance in w, FAR if it
// does not.
fn film_crossing(film: u32, origin: vec3f, direction: vec3f, reach: f32) -> vec4f {
    let local = origin - films[film].position;
    let axis = films[film].axis;
    let size = films[film].size;
    let shape = films[film].shape;
    if shape == TUBE {
        return tube_crossing(local, direction, reach, axis, size.x, size.y);
    }
    let miss = vec4f(axis, FAR);
    if shape == BALL {
        let b = dot(local, direction);
        let square = b * b - (dot(local, local) - size.x * size.x);
        let t = -b - sqrt(max(square, 0.0));
        let met = square > 0.0 && t > 0.0 && t < reach;
        return vec4f((local + direction * t) / size.x, select(FAR, t, met));
    }
    let toward = dot(direction, axis);
    if toward >= -1e-6 {
        return miss;
    }
    let t = -dot(local, axis) / toward;
    if !(t > 0.0 && t < reach) {
        return miss;
    }
    let p = local + direction * t;
    let q = vec2f(dot(p, films[film].right), dot(p, films[film].up));
    var inside = false;
    if shape == RECTANGLE {
        inside = all(2.0 * abs(q) <= size);
    } else if shape == POLYGON {
        // turned so that the nearest side lies straight ahead
        let wedge = TAU / f32(films[film].sides);
        let turned = atan2(q.y, q.x) - FRAC_PI_2 + 0.5 * wedge;
        let angle = turned - floor(turned / wedge) * wedge - 0.5 * wedge;
        inside = length(q) * cos(angle) <= size.x * cos(0.5 * wedge);
    } else {
        let r2 = dot(q, q);
        inside = r2 <= size.x * size.x && r2 >= size.y * size.y;
    }
    return vec4f(axis, select(FAR, t, inside));
}

fn tube_crossing(
    local: vec3f, direction: vec3f, reach: f32, axis: vec3f, radius: f32, span: f32,
) -> vec4f {
    let oz = dot(local, axis);
    let dz = dot(direction, axis);
    let o = local - axis * oz;
    let d = direction - axis * dz;
    let a = dot(d, d);
    let b = dot(o, d);
    let c = dot(o, o) - radius * radius;
    var nearest = vec4f(axis, FAR);
    let disc = b * b - a * c;
    if a > 1e-12 && disc > 0.0 {
        let t = (-b - sqrt(disc)) / a;
        if 2.0 * abs(oz + dz * t) <= span && t > 0.0 && t < reach {
            nearest = vec4f((o + d * t) / radius, t);
        }
    }
    for (var side = -1.0; side <= 1.0; side += 2.0) {
        if dz * side < -1e-6 {
            let t = (side * 0.5 * span - oz) / dz;
            let p = o + d * t;
            if dot(p, p) <= radius * radius && t > 0.0 && t < reach && t < nearest.w {
                nearest = vec4f(axis * side, t);
            }
        }
    }
    return nearest;
}
