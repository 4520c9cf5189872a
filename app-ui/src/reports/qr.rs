//! The id of a record as a QR code (ISO/IEC 18004), drawn as one outline.

use qrcode::{Color, EcLevel, QrCode};

use super::marks::Outline;
use super::paint::count;

/// A QR code of plain text in a square of side `side` with its upper left corner at `x`, `y`.
///
/// The quiet zone of four modules around it is the caller's to keep free. `None` when the text is
/// longer than a code can hold.
#[must_use]
pub fn outline(text: &str, x: f32, y: f32, side: f32) -> Option<Outline> {
    let code = QrCode::with_error_correction_level(text, EcLevel::M).ok()?;
    let width = code.width();
    let module = side / count(width);
    let mut outline = Outline::default();
    let colors = code.to_colors();
    for (row, line) in colors.chunks(width).enumerate() {
        let mut column = 0;
        while column < width {
            let length = line[column..]
                .iter()
                .take_while(|&&color| color == Color::Dark)
                .count();
            if length > 0 {
                outline.add(Outline::rect(
                    x + count(column) * module,
                    y + count(row) * module,
                    count(length) * module,
                    module,
                ));
            }
            column += length.max(1);
        }
    }
    Some(outline)
}
