//! The office's screens as pictures, one after the other, for the demonstration and for tests.

use std::rc::Rc;

use super::office::Office;
use crate::office::session::{Panel, Screen, Session};
use crate::pictures::{Picture, PictureError, Pictures};
use crate::presenters::office_hydraulics::Part;
use crate::presenters::office_upkeep::UpkeepSide;
use crate::presenters::view::Tone;
use crate::presenters::{office_due, office_jobs, office_procedures};

/// Both ways of standing, in pixels.
pub const SIZES: [(u32, u32); 2] = [(1280, 800), (800, 1280)];

/// A step to a screen worth a picture: its name, and how a clerk comes there.
type Step = (&'static str, fn(&mut Session));

/// The screens, in an order in which each follows from those before. Nothing is recorded but
/// what `tray_merged` takes in.
const STEPS: [Step; 15] = [
    ("office-tray", |session| session.go(Screen::Tray)),
    ("office-tray-damaged", choose_damaged_bundle),
    ("office-merged", Session::merge_all),
    ("office-week", Session::merge_seen),
    ("office-question", |session| session.go(Screen::Questions)),
    ("office-question-chosen", |session| {
        session.choose_answer("0");
    }),
    ("office-held", |session| session.go(Screen::Held)),
    ("office-stations", |session| session.go(Screen::Stations)),
    ("office-station", open_worst_station),
    ("office-hydraulics", |session| {
        session.show_panel(Panel::Hydraulics);
    }),
    ("office-hydraulics-flow", |session| {
        session.show_part(Part::Flow);
    }),
    ("office-definition", |session| {
        session.show_panel(Panel::Definition);
    }),
    ("office-to-tablets", |session| session.go(Screen::HandBack)),
    ("office-name", |session| session.go(Screen::Person)),
    ("office-about", |session| session.go(Screen::About)),
];

/// Upkeep, on a logbook with work to show.
const UPKEEP_STEPS: [Step; 8] = [
    ("office-due", |session| session.go(Screen::Upkeep)),
    ("office-due-done", |session| {
        session.press_upkeep(office_due::NOTE_DONE);
    }),
    ("office-jobs", |session| {
        session.show_upkeep(UpkeepSide::Jobs.id());
    }),
    ("office-job-raise", |session| {
        session.press_upkeep(office_jobs::RAISE);
    }),
    ("office-job-close", |session| {
        session.cancel_form();
        session.press_upkeep(office_jobs::CLOSE);
    }),
    ("office-procedures", open_procedures),
    ("office-procedure-steps", open_steps),
    ("office-certificates", |session| {
        session.show_upkeep(UpkeepSide::Papers.id());
    }),
];

fn choose_damaged_bundle(session: &mut Session) {
    let bundles = session.tray_view().bundles;
    if let Some(line) = bundles.iter().find(|line| line.tone == Tone::Caution) {
        session.choose_bundle(&line.id);
    }
}

fn open_worst_station(session: &mut Session) {
    session.go(Screen::Week);
    session.open_attention("0");
}

/// The open procedures; where there is none those that have ended.
fn open_procedures(session: &mut Session) {
    session.show_upkeep(UpkeepSide::Procedures.id());
    if session.upkeep_view().lines.is_empty() {
        session.filter_upkeep(office_procedures::ENDED);
    }
}

/// The steps of the procedure shown, at one that is disputed where there is one.
fn open_steps(session: &mut Session) {
    session.press_upkeep(office_procedures::STEPS);
    let lines = session.upkeep_view().lines;
    if let Some(line) = lines.iter().find(|line| line.word == "disputed") {
        session.choose_upkeep(&line.id);
    }
}

/// Takes in a picture with its name, such as `office-week-1280x800`.
pub type Keep<'a> = &'a mut dyn FnMut(&str, Picture) -> Result<(), PictureError>;
/// Draws some of the screens and hands each picture over.
pub type Draw = fn(&Pictures, &Rc<Office>, Keep<'_>) -> Result<(), PictureError>;

/// Draws every screen but upkeep at both sizes, merging the tray on the way, and the week in the
/// other light as well.
///
/// # Errors
/// [`PictureError`] when a picture cannot be made, and whatever `keep` answers.
pub fn draw(easel: &Pictures, office: &Rc<Office>, keep: Keep<'_>) -> Result<(), PictureError> {
    draw_steps(easel, office, &STEPS, keep)?;
    let was_bright = office.is_bright();
    office.act(|session| session.go(Screen::Week));
    office.set_bright(!was_bright);
    both(easel, office, "office-week-bright", keep)?;
    office.set_bright(was_bright);
    Ok(())
}

/// Draws the sides of upkeep at both sizes.
///
/// # Errors
/// As [`draw`].
pub fn draw_upkeep(
    easel: &Pictures,
    office: &Rc<Office>,
    keep: Keep<'_>,
) -> Result<(), PictureError> {
    draw_steps(easel, office, &UPKEEP_STEPS, keep)
}

fn draw_steps(
    easel: &Pictures,
    office: &Rc<Office>,
    steps: &[Step],
    keep: Keep<'_>,
) -> Result<(), PictureError> {
    office.work_now();
    for (name, step) in steps {
        office.act(*step);
        office.work_now();
        both(easel, office, name, keep)?;
    }
    Ok(())
}

fn both(
    easel: &Pictures,
    office: &Rc<Office>,
    name: &str,
    keep: Keep<'_>,
) -> Result<(), PictureError> {
    for (width, height) in SIZES {
        let picture = easel.draw(&office.window, width, height)?;
        keep(&format!("{name}-{width}x{height}"), picture)?;
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::office::{scenario, upkeep_scenario};

    /// With `WINZE_PICTURES` naming a folder, the pictures are kept there.
    #[test]
    fn every_screen_can_be_drawn_in_both_looks() {
        let folder = tempfile::tempdir().expect("a folder");
        let kept = std::env::var_os("WINZE_PICTURES").map(std::path::PathBuf::from);
        let easel = Pictures::start().expect("no window in this process");
        let mut drawn = Vec::new();
        for is_bright in [false, true] {
            let folder = folder.path().join(is_bright.to_string());
            let mut logbook = scenario::office(&folder);
            upkeep_scenario::add(&folder, &mut logbook, &scenario::definitions(&folder));
            let office = Office::new(Session::new(logbook).expect("opened")).expect("a window");
            office.set_bright(is_bright);
            let look = if is_bright { "bright" } else { "dark" };
            let mut of_look = Vec::new();
            let mut keep = |name: &str, picture: Picture| {
                if let Some(folder) = &kept {
                    picture.save(&folder.join(format!("{look}-{name}.png")))?;
                }
                of_look.push(picture);
                Ok(())
            };
            draw(&easel, &office, &mut keep).expect("drawn");
            draw_upkeep(&easel, &office, &mut keep).expect("drawn");
            drawn.push(of_look);
        }
        for pictures in &drawn {
            assert_eq!(pictures.len(), 2 * (STEPS.len() + 1 + UPKEEP_STEPS.len()));
            for (place, picture) in pictures.iter().enumerate() {
                let repeats = pictures[..place].contains(picture);
                assert!(!repeats, "picture {place} repeats one before it");
            }
        }
    }
}
