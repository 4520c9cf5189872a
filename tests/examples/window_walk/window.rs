//! The real program's window under a display, worked with `xdotool`.

use std::path::Path;
use std::process::{Child, Command};
use std::thread::sleep;
use std::time::Duration;

use slint::LogicalPosition;

use crate::{HEIGHT, Result, WIDTH};

/// How long the pointer rests before and after a click: first at a brisk pace, then at that of a slow
/// machine. The window refuses a second touch of one key within 150 ms.
pub const PACES: [Duration; 2] = [Duration::from_millis(90), Duration::from_millis(400)];
const WINDOW_AWAITED: Duration = Duration::from_secs(30);
/// After the window came, until it is drawn at its size.
const DRAWN: Duration = Duration::from_secs(1);

/// The program and its window.
pub struct Window {
    child: Child,
    id: String,
    pace: Duration,
}

impl Window {
    /// Starts the program on a logbook and waits for its window.
    pub fn open(program: &str, logbook: &Path, pace: Duration) -> Result<Self> {
        let child = Command::new(program)
            .arg("tablet")
            .arg("--logbook")
            .arg(logbook)
            .spawn()?;
        let mut window = Self {
            child,
            id: String::new(),
            pace,
        };
        window.id = window.find()?;
        let id = window.id.as_str();
        xdotool(&["windowmove", "--sync", id, "0", "0"]).ok();
        xdotool(&["windowsize", id, &WIDTH.to_string(), &HEIGHT.to_string()])?;
        xdotool(&["windowfocus", "--sync", id])?;
        sleep(DRAWN);
        Ok(window)
    }

    fn find(&mut self) -> Result<String> {
        let pause = Duration::from_millis(200);
        let mut waited = Duration::ZERO;
        while waited < WINDOW_AWAITED {
            if let Some(status) = self.child.try_wait()? {
                return Err(format!("the program ended before its window came: {status}").into());
            }
            if let Ok(found) = xdotool(&["search", "--onlyvisible", "--name", "^Winze$"])
                && let Some(window) = found.lines().next()
            {
                return Ok(window.to_owned());
            }
            sleep(pause);
            waited += pause;
        }
        Err("no window came".into())
    }

    /// Taps a place.
    pub fn tap(&mut self, at: LogicalPosition) -> Result<()> {
        if let Some(status) = self.child.try_wait()? {
            return Err(format!("the program ended: {status}").into());
        }
        let (x, y) = (at.x.round().to_string(), at.y.round().to_string());
        xdotool(&["mousemove", "--window", &self.id, &x, &y])?;
        sleep(self.pace);
        xdotool(&["click", "1"])?;
        sleep(self.pace);
        Ok(())
    }

    /// Waits until what was tapped last is done.
    pub fn settle(&self) {
        sleep(self.pace * 8);
    }

    /// Draws what the window shows.
    pub fn picture(&self, path: &Path) -> Result<()> {
        let drawn = Command::new("import")
            .args(["-window", &self.id])
            .arg(path)
            .status()?;
        if drawn.success() {
            Ok(())
        } else {
            Err(format!("import: {drawn}").into())
        }
    }

    /// Kills the program, as an empty battery does.
    pub fn kill(mut self) -> Result<()> {
        self.child.kill()?;
        self.child.wait()?;
        Ok(())
    }
}

impl Drop for Window {
    fn drop(&mut self) {
        // It may be gone already.
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

fn xdotool(arguments: &[&str]) -> Result<String> {
    let output = Command::new("xdotool").args(arguments).output()?;
    if !output.status.success() {
        return Err(format!("xdotool {arguments:?}: {}", output.status).into());
    }
    Ok(String::from_utf8(output.stdout)?.trim().to_owned())
}
