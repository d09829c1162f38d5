// Owen-scrambled Sobol points; twin of src/trace/sampler.rs (Burley 2020).

struct Sampler {
    index: u32,
    seed: u32,
}

fn sampler_new(index: u32, stream: u32, seed: u32) -> Sampler {
    return Sampler(index, hash2(stream, seed));
}

fn sample_pair(s: Sampler, dimension: u32) -> vec2f {
    let seed = hash2(s.seed, dimension);
    let index = owen(s.index, seed);
    let x = owen(reverseBits(index), hash2(seed, 0x68bc21ebu));
    let y = owen(sobol_second(index), hash2(seed, 0x02e5be93u));
    return vec2f(unit_interval(x), unit_interval(y));
}

fn sample_single(s: Sampler, dimension: u32) -> f32 {
    let seed = hash2(s.seed, dimension);
    return unit_interval(owen(reverseBits(owen(s.index, seed)), hash2(seed, 0x68bc21ebu)));
}

fn unit_interval(bits: u32) -> f32 {
    return f32(bits >> 8u) * (1.0 / 16777216.0);
}

fn sobol_second(index: u32) -> u32 {
    var v = index;
    v ^= (v & 0xaaaaaaaau) >> 1u;
    v ^= (v & 0xccccccccu) >> 2u;
    v ^= (v & 0xf0f0f0f0u) >> 4u;
    v ^= (v & 0xff00ff00u) >> 8u;
    v ^= (v & 0xffff0000u) >> 16u;
    return reverseBits(v);
}

fn owen(fraction: u32, seed: u32) -> u32 {
    var v = reverseBits(fraction);
    v += seed;
    v ^= v * 0x6c50b47cu;
    v ^= v * 0xb82f1e52u;
    v ^= v * 0xc7afe638u;
    v ^= v * 0x8d22f6e6u;
    return reverseBits(v);
}

fn hash2(a: u32, b: u32) -> u32 {
    let mixed = b * 0x9e3779b9u;
    var v = a ^ ((mixed << 15u) | (mixed >> 17u));
    v ^= v >> 16u;
    v *= 0x7feb352du;
    v ^= v >> 15u;
    v *= 0x846ca68bu;
    return v ^ (v >> 16u);
}
