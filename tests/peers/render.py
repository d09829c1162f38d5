"""Renders lights of an exported stage in Mitsuba 3.

    python render.py STAGE.glb --light key=1 --size 96x64 --spp 256 --passes 8 -o OUT.f32

Each `--light NAME=INTENSITY` is one light that is on, with its axial intensity in cd (or cd·s).
Out: passes × height × width × 3 little-endian float32, each pass with a seed of its own, in
cd/m² (or cd·s/m²); and one line of JSON on stdout with times. Float32 films drift on long sums, so a pass takes at most 4096 samples.
"""

import argparse
import json
import os
import tempfile
import time

import mitsuba as mi
import numpy as np


def arguments():
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("stage")
    parser.add_argument("--light", action="append", required=True, metavar="NAME=INTENSITY")
    parser.add_argument("--size", default="96x64", type=lambda s: tuple(map(int, s.split("x"))))
    parser.add_argument("--spp", type=int, default=64)
    parser.add_argument("--passes", type=int, default=8)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--integrator", choices=["path", "ptracer"], default="path")
    parser.add_argument("--variant", default="scalar_rgb")
    parser.add_argument("--depth", type=int, default=24, help="most edges of a path")
    parser.add_argument("--points", type=int, default=256, help="points for a front with a beam")
    parser.add_argument("-o", "--out", required=True)
    options = parser.parse_args()
    if options.spp > 4096:
        parser.error("more than 4096 samples in one float32 film drift; use more passes")
    return options


def main():
    options = arguments()
    mi.set_variant(options.variant)
    # The progress bar would share stdout with the report.
    mi.set_log_level(mi.LogLevel.Error)
    import glb
    import world

    # Roulette may start where it saves time without noise: after the fifth edge.
    integrator = {"type": options.integrator, "max_depth": options.depth, "rr_depth": 5}
    start = time.perf_counter()
    with tempfile.TemporaryDirectory() as folder:
        document = glb.read(options.stage)
        lights = (light.rpartition("=") for light in options.light)
        lights = {name: float(intensity) for name, _, intensity in lights}
        entries = world.build(
            document, lights, options.size, integrator, folder, options.points
        )
        scene = mi.load_dict(entries)
    built = time.perf_counter()
    seconds, images = [], []
    for n in range(options.passes):
        begin = time.perf_counter()
        image = np.array(mi.render(scene, spp=options.spp, seed=options.seed + n))
        seconds.append(time.perf_counter() - begin)
        if not np.isfinite(image).all():
            raise ValueError(f"pass {n} has pixels that are not finite numbers")
        images.append(image[..., :3])
    temporary = options.out + ".part"
    np.asarray(images, "<f4").tofile(temporary)
    os.replace(temporary, options.out)
    # On a line of its own: a progress bar leaves none.
    print()
    print(
        json.dumps(
            {
                "mitsuba": mi.__version__,
                "variant": options.variant,
                "integrator": options.integrator,
                "build_s": built - start,
                "pass_s": seconds,
            }
        )
    )


if __name__ == "__main__":
    main()
