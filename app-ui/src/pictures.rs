//! Draws windows to pictures without a display.
//!
//! Uses only what Slint offers publicly for such a purpose: its minimal window and its
//! software renderer. A process has one platform, so one that draws pictures opens no window.

use std::cell::{Cell, RefCell};
use std::path::Path;
use std::rc::Rc;
use std::time::Duration;

use slint::platform::software_renderer::{MinimalSoftwareWindow, RepaintBufferType};
use slint::platform::{Platform, WindowAdapter, update_timers_and_animations};
use slint::{PhysicalSize, PlatformError, Rgb8Pixel};

/// The first pass makes the rows of lists, the second places them and starts what moves, the
/// third finds everything at rest.
const PASSES: u32 = 3;

/// What can go wrong when a picture is made.
#[derive(Debug, thiserror::Error)]
pub enum PictureError {
    /// Another platform was set before in this process.
    #[error("this process already draws to a window")]
    Platform(#[from] slint::platform::SetPlatformError),
    /// The window could not be made.
    #[error("window could not be made")]
    Window(#[from] PlatformError),
    /// The picture could not be written.
    #[error("picture could not be written")]
    Image(#[from] image::ImageError),
}

/// A picture, three bytes a pixel, row by row from the upper left.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Picture {
    /// Pixels in a row.
    pub width: u32,
    /// Rows.
    pub height: u32,
    /// Red, green, blue, each one byte.
    pub rgb: Vec<u8>,
}

impl Picture {
    /// Writes the picture as PNG.
    ///
    /// # Errors
    /// [`PictureError::Image`] when the file cannot be written.
    pub fn save(&self, path: &Path) -> Result<(), PictureError> {
        let kind = image::ExtendedColorType::Rgb8;
        image::save_buffer(path, &self.rgb, self.width, self.height, kind)?;
        Ok(())
    }
}

type Windows = Rc<RefCell<Vec<Rc<MinimalSoftwareWindow>>>>;

struct Easel {
    windows: Windows,
    time: Rc<Cell<Duration>>,
}

impl Platform for Easel {
    fn create_window_adapter(&self) -> Result<Rc<dyn WindowAdapter>, PlatformError> {
        let window = MinimalSoftwareWindow::new(RepaintBufferType::NewBuffer);
        self.windows.borrow_mut().push(window.clone());
        Ok(window)
    }

    fn duration_since_start(&self) -> Duration {
        self.time.get()
    }
}

/// Where windows are drawn; there is one in a process.
pub struct Pictures {
    windows: Windows,
    time: Rc<Cell<Duration>>,
}

impl Pictures {
    /// Makes this process one that draws pictures. Call it before the first window is made.
    ///
    /// # Errors
    /// [`PictureError::Platform`] when the process already shows windows.
    pub fn start() -> Result<Self, PictureError> {
        let windows = Windows::default();
        let time = Rc::new(Cell::new(Duration::ZERO));
        slint::platform::set_platform(Box::new(Easel {
            windows: windows.clone(),
            time: time.clone(),
        }))?;
        Ok(Self { windows, time })
    }

    /// Draws a window at the given size in pixels, with every movement at its end.
    ///
    /// # Errors
    /// [`PictureError::Window`] when it cannot be shown.
    pub fn draw<C: slint::ComponentHandle>(
        &self,
        component: &C,
        width: u32,
        height: u32,
    ) -> Result<Picture, PictureError> {
        component.show()?;
        let windows = self.windows.borrow();
        let window = windows
            .iter()
            .find(|window| std::ptr::eq(window.window(), component.window()))
            .ok_or_else(|| PlatformError::Other("window of another platform".to_owned()))?;
        window.set_size(PhysicalSize::new(width, height));
        let mut pixels = vec![Rgb8Pixel::default(); (width * height) as usize];
        for _ in 0..PASSES {
            self.time.set(self.time.get() + Duration::from_secs(1));
            update_timers_and_animations();
            window.request_redraw();
            window.draw_if_needed(|renderer| {
                renderer.render(&mut pixels, width as usize);
            });
        }
        let rgb = pixels.iter().flat_map(|p| [p.r, p.g, p.b]).collect();
        Ok(Picture { width, height, rgb })
    }
}
