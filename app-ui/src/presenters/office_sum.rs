//! The arithmetic of a verdict in words, line by line. All figures come from the core.

use winze_core::station::{Quantity, Station};
use winze_core::units::{Pressure, Unit};
use winze_core::verdict::{Amount, Judged, Source, Step, StepKind, Verdict};

use super::office_view::SumLine;
use super::view::Tone;
use super::words;

/// Words the arithmetic of one verdict, in the unit of its gauge.
#[must_use]
pub fn sum(station: &Station, judged: &Judged) -> Vec<SumLine> {
    let writer = Writer { station, judged };
    judged
        .steps()
        .iter()
        .map(|step| writer.line(step))
        .collect()
}

struct Writer<'a> {
    station: &'a Station,
    judged: &'a Judged,
}

impl Writer<'_> {
    fn line(&self, step: &Step) -> SumLine {
        let (what, how) = self.words(step);
        let is_strong = matches!(
            step.kind,
            StepKind::AtDatum | StepKind::Combined | StepKind::Verdict
        );
        let tone = match step.kind {
            StepKind::Verdict => Tone::from(self.judged.verdict),
            _ => Tone::None,
        };
        SumLine {
            what,
            how,
            figure: self.figure(step),
            is_strong,
            tone,
        }
    }

    fn unit(&self) -> Unit {
        self.station.gauge(self.judged.quantity).unit()
    }

    /// A pressure with one place more than the gauge shows, so that the sum can be followed.
    fn fine(&self, pa: f64, places: u8) -> String {
        let gauge = self.station.gauge(self.judged.quantity);
        let value = self.unit().from_pa(pa);
        let places = usize::from(gauge.decimals() + places);
        format!("{value:.places$} {}", self.unit().symbol())
    }

    fn figure(&self, step: &Step) -> String {
        match (step.kind, step.result) {
            (StepKind::AsRead, _) => words::typed(self.judged.typed),
            (_, Amount::Pascal(pa)) => {
                let places = match step.kind {
                    StepKind::Contribution(_) | StepKind::Combined => 2,
                    _ => 1,
                };
                self.fine(pa, places)
            }
            (_, Amount::Number(number)) => format!("{number:.2}"),
            (_, Amount::Probability(probability)) => percent(probability),
            (_, Amount::Typed(typed)) => words::typed(typed),
            (_, Amount::Code(_)) => words::verdict(self.judged.verdict).to_owned(),
        }
    }

    fn words(&self, step: &Step) -> (String, String) {
        let gauge = self.station.gauge(self.judged.quantity);
        let (what, how) = match step.kind {
            StepKind::AsRead => ("As read".to_owned(), String::new()),
            StepKind::HeadCorrection => (
                "Water column between gauge and datum".to_owned(),
                format!("{:.1} m", f64::from(gauge.elevation_mm) / 1000.0),
            ),
            StepKind::AtDatum => ("Pressure at the station datum".to_owned(), String::new()),
            StepKind::Target => ("Expected".to_owned(), self.basis()),
            StepKind::Low => ("Lower end of the band".to_owned(), String::new()),
            StepKind::High => ("Upper end of the band".to_owned(), String::new()),
            StepKind::Contribution(source) => (source_words(source), self.how(step)),
            StepKind::Combined => (
                "Standard uncertainty".to_owned(),
                "root of the sum of squares".to_owned(),
            ),
            StepKind::AboveLow => (
                "Above the lower end, in uncertainties".to_owned(),
                String::new(),
            ),
            StepKind::BelowHigh => (
                "Below the upper end, in uncertainties".to_owned(),
                String::new(),
            ),
            StepKind::Probability => (
                "Chance that it truly lies in the band".to_owned(),
                String::new(),
            ),
            StepKind::Verdict => ("Verdict".to_owned(), rule(self.judged.verdict).to_owned()),
        };
        (what, how)
    }

    fn basis(&self) -> String {
        use winze_core::verdict::Basis;
        let ratio = self
            .judged
            .ratio
            .map_or_else(String::new, |ratio| format!("{ratio:.3}"));
        match self.judged.expectation.basis {
            Basis::UsualRange => "middle of its usual range".to_owned(),
            Basis::NominalRatio => format!("inlet divided by {ratio}, nominal"),
            Basis::AsLeftRatio => format!("inlet divided by {ratio}, as left"),
            Basis::UsualRangeThroughRatio => format!("usual inlet divided by {ratio}"),
            Basis::SetPoint => "set point".to_owned(),
            Basis::FollowsInterstage => "starved: follows the interstage".to_owned(),
            Basis::LockUp => "set point, no flow".to_owned(),
        }
    }

    /// "half-width x factor of its shape x how much of it arrives".
    fn how(&self, step: &Step) -> String {
        let StepKind::Contribution(source) = step.kind else {
            return String::new();
        };
        let line = self
            .judged
            .contributions
            .iter()
            .find(|line| line.source == source);
        let Some(line) = line else {
            return String::new();
        };
        let half = self.fine(line.half_width_pa, 2);
        let factor = line.shape.factor();
        let shape = if (factor - 1.0).abs() < 1e-9 {
            String::new()
        } else {
            format!(" \u{d7} {factor:.3}")
        };
        let arrives = if (line.sensitivity.abs() - 1.0).abs() < 1e-9 {
            String::new()
        } else {
            format!(" \u{d7} {:.3}", line.sensitivity.abs())
        };
        format!("\u{b1}{half}{shape}{arrives}")
    }
}

fn source_words(source: Source) -> String {
    let name = |quantity: Quantity| words::gauge(quantity);
    match source {
        Source::GaugeClass(quantity) => format!("Class of the {} gauge", name(quantity)),
        Source::GaugeRepeat(quantity) => format!("Repeatability, {} gauge", name(quantity)),
        Source::GaugeTemperature(quantity) => format!("Temperature, {} gauge", name(quantity)),
        Source::Reading(quantity) => format!("Reading the {} dial", name(quantity)),
        Source::Elevation(quantity) => format!("Height of the {} gauge", name(quantity)),
        Source::AsLeftRatio => "Ratio as left".to_owned(),
    }
}

const fn rule(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::Within => "at least 95 % sure",
        Verdict::Unsure => "between 5 % and 95 %",
        Verdict::Outside => "at most 5 %",
    }
}

/// A probability as per cent, never rounded to certainty.
fn percent(probability: f64) -> String {
    let percent = probability * 100.0;
    if percent > 99.9 {
        "above 99.9 %".to_owned()
    } else if percent < 0.1 {
        "below 0.1 %".to_owned()
    } else {
        format!("{percent:.1} %")
    }
}

/// How far from zero a pressure is, in a unit; for the sentence about a change.
#[must_use]
pub fn difference(from: Pressure, to: Pressure, unit: Unit) -> String {
    let change = (to - from).as_f64_pa();
    let sign = if change < 0.0 { "\u{2212}" } else { "+" };
    format!("{sign}{:.2} {}", unit.from_pa(change.abs()), unit.symbol())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::presenters::samples;
    use winze_core::verdict::judge;

    fn lines(values: [&str; 3], quantity: Quantity) -> Vec<SumLine> {
        let station = samples::station();
        let judgement = judge(&station, &samples::entry(values));
        sum(
            &station,
            judgement.get(quantity).expect("read and expected"),
        )
    }

    #[test]
    fn arithmetic_ends_with_the_verdict_and_starts_as_read() {
        let lines = lines(["10.2", "4.1", "2.6"], Quantity::Outlet);
        assert_eq!(
            (lines[0].what.as_str(), lines[0].figure.as_str()),
            ("As read", "2.6 bar")
        );
        let last = lines.last().expect("lines");
        assert_eq!(
            (last.figure.as_str(), last.tone),
            ("outside", Tone::Outside)
        );
        assert_eq!(last.how, "at most 5 %");
    }

    #[test]
    fn each_contribution_shows_what_it_is_made_of() {
        // Class 1.0 of a 4 bar span is 0.04 bar, a rectangle: 0.04 / sqrt 3 = 0.0231.
        let lines = lines(["10.2", "4.1", "2.0"], Quantity::Outlet);
        let class = lines
            .iter()
            .find(|line| line.what == "Class of the outlet gauge")
            .expect("a line for the class");
        assert_eq!(class.how, "\u{b1}0.0400 bar \u{d7} 0.577");
        assert_eq!(class.figure, "0.0231 bar");
    }

    #[test]
    fn interstage_names_the_ratio_it_rests_on() {
        let lines = lines(["10.2", "4.1", "2.0"], Quantity::Interstage);
        let target = lines
            .iter()
            .find(|line| line.what == "Expected")
            .expect("a target");
        assert_eq!(target.how, "inlet divided by 2.500, nominal");
        assert_eq!(target.figure, "4.080 bar");
    }

    #[test]
    fn chance_is_never_rounded_to_certainty() {
        assert_eq!(percent(1.0), "above 99.9 %");
        assert_eq!(percent(0.0), "below 0.1 %");
        assert_eq!(percent(0.5), "50.0 %");
    }
}
