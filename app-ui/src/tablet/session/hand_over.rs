//! Handing over and taking in. The act itself runs away from the window: a [`Job`] takes the
//! logbook with it and brings it back.

use std::path::{Path, PathBuf};

use winze_core::Logbook;
use winze_core::actions::{self, PackFor, Progress};

use super::Session;
use crate::messages::{self, UserMessage};
use crate::presenters::hand_over::{self, HandOverScreen, Outcome};
use crate::presenters::view::{Choice, Tone};

/// A stick or folder that a bundle can be written to.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Place {
    /// What people call it.
    pub label: String,
    /// Where it is.
    pub path: PathBuf,
}

/// The state of the hand-over screen.
#[derive(Debug, Default)]
pub(super) struct HandOver {
    places: Vec<Place>,
    chosen: Option<PathBuf>,
    other: String,
    is_busy: bool,
    progress: f32,
    outcome: Outcome,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum What {
    Give,
    Take,
}

/// An act at the hand-over with all it needs, to be run on another thread.
pub struct Job {
    logbook: Logbook,
    folder: PathBuf,
    what: What,
    by: String,
}

/// A job that has ended, for [`Session::finish`].
pub struct JobDone {
    logbook: Logbook,
    outcome: Outcome,
}

impl HandOver {
    pub(super) fn arrive(&mut self, places: Vec<Place>) {
        self.outcome = Outcome::default();
        self.look(places);
    }

    fn look(&mut self, places: Vec<Place>) {
        self.places = places;
        let is_here = |path: &PathBuf| self.places.iter().any(|place| &place.path == path);
        if !self.chosen.as_ref().is_some_and(is_here) {
            // With one stick in there is nothing to choose.
            self.chosen = match self.places.as_slice() {
                [only] => Some(only.path.clone()),
                _ => None,
            };
        }
    }

    fn folder(&self) -> Option<PathBuf> {
        let other = self.other.trim();
        if other.is_empty() {
            self.chosen.clone()
        } else {
            Some(PathBuf::from(other))
        }
    }

    pub(super) fn screen(&self, not_at_office: u64, take_comes_first: bool) -> HandOverScreen {
        let (heading, detail) = hand_over::heading(not_at_office);
        let chosen = self.folder();
        HandOverScreen {
            heading,
            detail,
            places: self
                .places
                .iter()
                .map(|place| Choice {
                    is_on: chosen.as_ref() == Some(&place.path),
                    ..Choice::new(place.path.to_string_lossy(), place.label.as_str())
                })
                .collect(),
            places_hint: if self.places.is_empty() {
                "No stick is in. Put one in and look again.".to_owned()
            } else {
                String::new()
            },
            take_comes_first,
            can_act: chosen.is_some(),
            is_busy: self.is_busy,
            progress: self.progress,
            outcome: self.outcome.clone(),
        }
    }
}

impl Session {
    /// Looks again for sticks.
    pub fn look_for_places(&mut self) {
        let places = (self.around.places)();
        self.hand_over.look(places);
    }

    /// Chooses a place by its path.
    pub fn choose_place(&mut self, id: &str) {
        let found = self.hand_over.places.iter();
        if let Some(place) = found.clone().find(|place| place.path == Path::new(id)) {
            self.hand_over.chosen = Some(place.path.clone());
            self.hand_over.other.clear();
        }
    }

    /// Takes a folder that is not among the places.
    pub fn set_other_place(&mut self, text: &str) {
        text.clone_into(&mut self.hand_over.other);
    }

    /// The folder typed, if any.
    #[must_use]
    pub fn other_place(&self) -> &str {
        &self.hand_over.other
    }

    /// Starts writing a bundle for the office.
    pub fn give(&mut self) -> Option<Job> {
        self.start(What::Give)
    }

    /// Starts taking in what the office sent.
    pub fn take(&mut self) -> Option<Job> {
        self.start(What::Take)
    }

    fn start(&mut self, what: What) -> Option<Job> {
        let folder = self.hand_over.folder()?;
        let logbook = self.logbook.take()?;
        self.hand_over.is_busy = true;
        self.hand_over.progress = 0.0;
        self.hand_over.outcome = Outcome::default();
        Some(Job {
            logbook,
            folder,
            what,
            by: self.around.by.clone(),
        })
    }

    /// Notes how far a job is, 0 to 1.
    pub fn job_is_at(&mut self, share: f32) {
        self.hand_over.progress = share.clamp(0.0, 1.0);
    }

    /// Takes the logbook back and shows what came of the job.
    pub fn finish(&mut self, done: JobDone) {
        self.logbook = Some(done.logbook);
        self.hand_over.is_busy = false;
        self.hand_over.outcome = done.outcome;
        self.page = None;
    }
}

impl Job {
    /// Runs the act. `progress` is told how far it is, 0 to 1, and answers whether to go on.
    pub fn run(mut self, progress: &mut dyn FnMut(f32) -> bool) -> JobDone {
        let mut report = |at: Progress| progress(share(at));
        let outcome = match self.what {
            What::Give => {
                let packed = actions::pack_bundle(
                    &mut self.logbook,
                    &self.folder,
                    PackFor::Office,
                    &self.by,
                    &mut report,
                );
                match packed {
                    Ok(packed) => hand_over::given(&packed),
                    Err(error) => failed(&messages::logbook_failed(&error)),
                }
            }
            What::Take => match bundles_in(&self.folder) {
                Ok(paths) => match actions::merge_bundles(&mut self.logbook, &paths, &mut report) {
                    Ok(merged) => hand_over::taken(&merged),
                    Err(error) => failed(&messages::logbook_failed(&error)),
                },
                Err(error) => failed(&messages::file_failed("opened", &self.folder, &error)),
            },
        };
        JobDone {
            logbook: self.logbook,
            outcome,
        }
    }
}

#[allow(
    clippy::cast_precision_loss,
    reason = "a bar on the screen needs no more than a few digits"
)]
fn share(at: Progress) -> f32 {
    match at.total {
        Some(total) if total > 0 => at.done as f32 / total as f32,
        _ => 0.0,
    }
}

fn failed(message: &UserMessage) -> Outcome {
    Outcome {
        tone: Tone::Caution,
        result: message.what.clone(),
        detail: format!("{} {}", message.safe, message.next)
            .trim()
            .to_owned(),
        must_compare: false,
    }
}

/// The bundles in a folder, by name, so that every run takes them in the same order.
fn bundles_in(folder: &Path) -> std::io::Result<Vec<PathBuf>> {
    let mut found = Vec::new();
    for entry in std::fs::read_dir(folder)? {
        let path = entry?.path();
        if path.extension().is_some_and(|ending| ending == "winze") {
            found.push(path);
        }
    }
    found.sort();
    Ok(found)
}
