//! Walks a station and every procedure in the real window, by pointer, and checks what was stored.
//!
//! Usage: `window_walk PROGRAM FOLDER [WALK...]`, with a display and `xdotool` and `import` at hand;
//! pictures of the steps go to FOLDER. The same taps are first made on a window without a display,
//! which tells where each key lies; then the program is started on an equal logbook and the pointer
//! goes to the same places. A walk that went astray because the machine was slow is made once more,
//! slower, on a new logbook; what is stored decides.

mod stored;
mod walks;
mod window;

use std::path::{Path, PathBuf};

use walks::{Part, WALKS, Walk};
use window::Window;
use winze_tests::screen;

type Result<T> = std::result::Result<T, Box<dyn std::error::Error>>;

const WIDTH: u16 = 1280;
const HEIGHT: u16 = 800;

fn main() -> Result<()> {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let [program, pictures, wanted @ ..] = arguments.as_slice() else {
        return Err("usage: window_walk PROGRAM FOLDER [WALK...]".into());
    };
    let pictures = PathBuf::from(pictures);
    std::fs::create_dir_all(&pictures)?;
    screen::without_display();
    let is_wanted = |walk: &&Walk| wanted.is_empty() || wanted.iter().any(|name| name == walk.name);
    let mut taps = 0;
    for walk in WALKS.iter().filter(is_wanted) {
        taps += in_the_window(walk, program, &pictures)?;
    }
    if taps == 0 {
        return Err("no walk of that name".into());
    }
    println!("{taps} taps in the window; all that was tapped is stored");
    Ok(())
}

/// Makes a walk and checks it; returns how many taps it took.
fn in_the_window(walk: &Walk, program: &str, pictures: &Path) -> Result<usize> {
    let mut failed = String::new();
    for pace in window::PACES {
        let folder = tempfile::tempdir()?;
        let dry = walk.without_display(&folder.path().join("dry"))?;
        let real = folder.path().join("real");
        drop(stored::logbook(&real)?);
        let made = make(walk, &dry, program, &real, pictures, pace);
        match made.and_then(|()| walk.check(&real)) {
            Ok(stored) => {
                let taps = dry.iter().map(|part| part.taps.len()).sum();
                println!("{}: {taps} taps, {stored}", walk.name);
                return Ok(taps);
            }
            Err(error) => {
                println!("{}: {error}", walk.name);
                failed = error.to_string();
            }
        }
    }
    Err(format!(
        "{}: {failed}; the last picture is in {}",
        walk.name,
        pictures.display()
    )
    .into())
}

/// Taps each part in a program of its own, which is killed at the end of the part.
fn make(
    walk: &Walk,
    parts: &[Part],
    program: &str,
    real: &Path,
    pictures: &Path,
    pace: std::time::Duration,
) -> Result<()> {
    for part in parts {
        let mut window = Window::open(program, real, pace)?;
        for tap in &part.taps {
            if let Some(step) = tap.begins {
                let name = format!("{}-{}.png", walk.name, step.code());
                window.picture(&pictures.join(name))?;
            }
            if let Err(error) = window.tap(tap.at) {
                window.picture(&pictures.join(format!("{}-failed.png", walk.name)))?;
                return Err(format!("{:?}: {error}", tap.label).into());
            }
        }
        window.settle();
        window.picture(&pictures.join(format!("{}-end.png", walk.name)))?;
        window.kill()?;
    }
    Ok(())
}
