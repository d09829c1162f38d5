//! Runs the Mitsuba side: a virtual environment of its own under the build directory, and the
//! scripts beside this file.
//!
//! In: an exported stage and what to render. Out: pictures in linear luminance units, one for
//! each pass. Anything missing on the machine is an error that says
//! what to install; nothing is skipped.

use std::path::{Path, PathBuf};
use std::process::Command;

use glam::Vec3;

/// A working Python with the pinned packages.
pub struct Peer {
    python: PathBuf,
    scripts: PathBuf,
    scratch: PathBuf,
}

/// What to render.
#[derive(Debug, Clone)]
pub struct Job<'a> {
    /// The lights that are on, with their axial intensities in cd or cd·s.
    pub lights: &'a [(&'a str, f64)],
    /// Pixels across and down.
    pub size: (u32, u32),
    /// Samples a pixel in each pass.
    pub spp: u32,
    /// Independent pictures.
    pub passes: u32,
    /// Seed of the first pass.
    pub seed: u32,
    /// `path` or `ptracer`.
    pub integrator: &'a str,
    /// `scalar_rgb` or `llvm_ad_rgb`.
    pub variant: &'a str,
    /// Most edges of a path.
    pub depth: u32,
    /// Points that stand for a front with a beam.
    pub points: u32,
}

/// What came back.
#[derive(Debug)]
pub struct Rendered {
    /// One picture a pass, row-major from the top left.
    pub passes: Vec<Vec<Vec3>>,
    /// Seconds to read the stage and build the scene.
    pub build_s: f64,
    /// Seconds of each pass.
    pub pass_s: Vec<f64>,
}

impl Peer {
    /// Makes or finds the environment.
    pub fn prepare() -> Result<Self, String> {
        let scripts = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/peers");
        let scratch = PathBuf::from(env!("CARGO_TARGET_TMPDIR")).join("peers");
        std::fs::create_dir_all(&scratch).map_err(|e| format!("{}: {e}", scratch.display()))?;
        let environment = scratch.join("environment");
        let python = environment.join("bin/python");
        let wanted = std::fs::read_to_string(scripts.join("requirements.txt"))
            .map_err(|e| format!("tests/peers/requirements.txt: {e}"))?;
        let marker = environment.join("installed.txt");
        if std::fs::read_to_string(&marker).ok().as_deref() != Some(&wanted) {
            let hint = "the peer test needs Python 3.10 or newer with venv and pip \
                        (Debian: apt-get install python3 python3-venv) and access to PyPI";
            let mut make = Command::new("python3");
            run(make.args(["-m", "venv", "--clear"]).arg(&environment), hint)?;
            let mut install = Command::new(&python);
            install.args(["-m", "pip", "install", "--quiet", "--disable-pip-version-check", "-r"]);
            run(install.arg(scripts.join("requirements.txt")), hint)?;
            std::fs::write(&marker, &wanted).map_err(|e| format!("{}: {e}", marker.display()))?;
        }
        Ok(Self { python, scripts, scratch })
    }

    /// A place for files that the next build may delete.
    pub fn scratch(&self) -> &Path {
        &self.scratch
    }

    /// Runs one of the scripts and returns what it printed.
    pub fn script(&self, name: &str, arguments: &[String]) -> Result<String, String> {
        let path = self.scripts.join(name);
        let mut command = Command::new(&self.python);
        if let Some(library) = llvm_library() {
            command.env("DRJIT_LIBLLVM_PATH", library);
        }
        run(command.arg(path).args(arguments), "its own words are above")
    }

    /// Renders lights of an exported stage.
    pub fn render(&self, stage: &Path, job: &Job) -> Result<Rendered, String> {
        let (width, height) = job.size;
        let out = self.scratch.join(format!("{}.f32", std::process::id()));
        let mut arguments = vec![stage.display().to_string()];
        let options = [
            ("--size", format!("{width}x{height}")),
            ("--spp", job.spp.to_string()),
            ("--passes", job.passes.to_string()),
            ("--seed", job.seed.to_string()),
            ("--integrator", job.integrator.to_owned()),
            ("--variant", job.variant.to_owned()),
            ("--depth", job.depth.to_string()),
            ("--points", job.points.to_string()),
            ("--out", out.display().to_string()),
        ];
        for (flag, value) in options {
            arguments.extend([flag.to_owned(), value]);
        }
        for (name, intensity) in job.lights {
            arguments.extend(["--light".to_owned(), format!("{name}={intensity}")]);
        }
        let printed = self.script("render.py", &arguments)?;
        let report: serde_json::Value = printed
            .lines()
            .rev()
            .find_map(|line| serde_json::from_str(line).ok())
            .ok_or_else(|| format!("render.py printed no report: {printed}"))?;
        let bytes = std::fs::read(&out).map_err(|e| format!("{}: {e}", out.display()))?;
        std::fs::remove_file(&out).map_err(|e| format!("{}: {e}", out.display()))?;
        let pixels = (width * height) as usize;
        if bytes.len() != job.passes as usize * pixels * 12 {
            return Err(format!("render.py wrote {} bytes", bytes.len()));
        }
        let values: Vec<Vec3> = bytes
            .chunks_exact(12)
            .map(|c| {
                let channel = |k: usize| f32::from_le_bytes([c[k], c[k + 1], c[k + 2], c[k + 3]]);
                Vec3::new(channel(0), channel(4), channel(8))
            })
            .collect();
        let seconds = |value: &serde_json::Value| value.as_f64().unwrap_or(f64::NAN);
        Ok(Rendered {
            passes: values.chunks_exact(pixels).map(<[Vec3]>::to_vec).collect(),
            build_s: seconds(&report["build_s"]),
            pass_s: report["pass_s"].as_array().into_iter().flatten().map(seconds).collect(),
        })
    }
}

/// The newest LLVM library from 16 on, for the vectorised variants; 15 makes them abort. A choice
/// in the environment stands.
fn llvm_library() -> Option<PathBuf> {
    if std::env::var_os("DRJIT_LIBLLVM_PATH").is_some() {
        return None;
    }
    let version = |path: &PathBuf| -> Option<u32> {
        let name = path.file_name()?.to_str()?;
        name.strip_prefix("libLLVM-")?.split('.').next()?.parse().ok()
    };
    ["/usr/lib/x86_64-linux-gnu", "/usr/lib/aarch64-linux-gnu", "/usr/lib64", "/usr/lib"]
        .iter()
        .filter_map(|folder| std::fs::read_dir(folder).ok())
        .flat_map(|entries| entries.flatten().map(|entry| entry.path()))
        .filter(|path| version(path).is_some_and(|version| version >= 16))
        .max_by_key(version)
}

fn run(command: &mut Command, hint: &str) -> Result<String, String> {
    let output = command.output().map_err(|e| format!("cannot start {command:?}: {e}; {hint}"))?;
    let printed = String::from_utf8_lossy(&output.stdout).into_owned();
    if output.status.success() {
        Ok(printed)
    } else {
        let said = String::from_utf8_lossy(&output.stderr);
        Err(format!("{command:?} failed ({}): {printed}{said}; {hint}", output.status))
    }
}
