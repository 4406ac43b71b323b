//! Runs the built program as a user would, and makes the pictures that it is run on.

use imaging::{Frame, Samples};
use std::path::{Path, PathBuf};
use std::process::{Command, Output};
use synth::{Rendered, parse_scene};

/// Criteria of most tests.
pub const MM: &str = "iec-61300-3-35-ed2-mm";

/// The program, no colours and no threads stated.
pub fn program() -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_pitchline"));
    command.env_remove("RAYON_NUM_THREADS").env_remove("NO_COLOR").env("TERM", "xterm");
    command
}

/// What a run gave.
pub struct Run {
    /// Exit status.
    pub status: i32,
    /// What it printed.
    pub stdout: String,
    /// What it complained of.
    pub stderr: String,
}

impl From<Output> for Run {
    fn from(output: Output) -> Run {
        Run {
            status: output.status.code().unwrap_or(-1),
            stdout: String::from_utf8(output.stdout).unwrap(),
            stderr: String::from_utf8(output.stderr).unwrap(),
        }
    }
}

/// Runs the program with these arguments.
pub fn run<S: AsRef<std::ffi::OsStr>>(arguments: &[S]) -> Run {
    program().args(arguments).output().unwrap().into()
}

/// Grades a picture by the criteria of most tests.
pub fn grade(picture: &Path, layout: &str, out: &Path, more: &[&str]) -> Run {
    let mut command = program();
    command.arg("grade").arg(picture).args(["--layout", layout, "--criteria", MM, "--out"]).arg(out);
    command.args(more).output().unwrap().into()
}

/// A scene of a clean multimode face, to which marks are added; small and quick to render.
pub fn clean(layout: &str, camera: &str) -> String {
    format!(
        "layout = \"{layout}\"\n[face]\nseed = 7\n[camera]\num_per_px = 0.6\nmargin_um = [150, 140]\n\
         blur_um = 0.55\nsignal_to_noise = 60\n{camera}\n"
    )
}

/// Renders a scene.
pub fn rendered(scene: &str) -> Rendered {
    let scene = parse_scene("scene", scene).unwrap();
    synth::render(&scene, &profile::layout(&scene.layout).unwrap()).unwrap()
}

/// Writes a picture as a PNG.
pub fn write_png(frame: &Frame, path: &Path) {
    let (width, height) = (frame.width() as u32, frame.height() as u32);
    match frame.samples() {
        Samples::Eight(v) => image::save_buffer(path, v, width, height, image::ColorType::L8),
        Samples::Sixteen(v) => {
            let bytes: Vec<u8> = v.iter().flat_map(|s| s.to_ne_bytes()).collect();
            image::save_buffer(path, &bytes, width, height, image::ColorType::L16)
        }
    }
    .unwrap();
}

/// Renders a scene into a PNG of that name.
pub fn picture(folder: &Path, name: &str, scene: &str) -> PathBuf {
    let path = folder.join(name);
    write_png(&rendered(scene).frame, &path);
    path
}

/// `face.json` of a folder.
pub fn record(folder: &Path) -> serde_json::Value {
    serde_json::from_str(&std::fs::read_to_string(folder.join("face.json")).unwrap()).unwrap()
}

/// Names of everything in a folder, in order.
pub fn names(folder: &Path) -> Vec<String> {
    let entries = std::fs::read_dir(folder).unwrap();
    let mut names: Vec<String> =
        entries.map(|e| e.unwrap().file_name().to_string_lossy().into_owned()).collect();
    names.sort();
    names
}
