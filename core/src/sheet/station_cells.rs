//! The cells of one register row to one station definition.

use chrono::NaiveDate;
use winze_sync_format::Decimal;

use super::moment::parse_moment;
use super::number::{DecimalMark, NumberFault, parse_number, parse_number_with_unit};
use super::report::Refusal;
use super::unit_words::parse_unit_words;
use super::{NOTE_BYTES_MAX, PERSON_BYTES_MAX, SheetOptions};
use crate::station::{
    AsmeGrade, Duty, FirstStage, Gauge, Problem, Quantity, SecondStage, Site, Station, StationCode,
    StationField, UsualRange, Valve, defaults,
};
use crate::units::{Typed, Unit};

/// A refusal and the column it is about, by its plain name.
#[derive(Debug)]
pub(super) struct CellRefusal {
    pub column: Option<String>,
    pub refusal: Refusal,
}

impl CellRefusal {
    pub fn of(column: &str, refusal: Refusal) -> Self {
        Self {
            column: Some(column.to_owned()),
            refusal,
        }
    }
}

type Parsed<T> = Result<T, CellRefusal>;

/// Looks cells up by column name and reads them; an absent column is an empty cell.
struct Cells<'f, F> {
    cell: &'f F,
    mark: DecimalMark,
    unit: Unit,
    options: SheetOptions,
}

/// Builds a definition from the cells of one row.
///
/// `fallback_order` is the place in the walking order where the row gives none.
pub(super) fn station_from<'a, F: Fn(&str) -> &'a str>(
    cell: &F,
    mark: DecimalMark,
    options: SheetOptions,
    fallback_order: u32,
) -> Parsed<Station> {
    let unit = match cell("unit") {
        "" => options
            .usual_unit
            .ok_or_else(|| CellRefusal::of("unit", Refusal::Empty))?,
        text => {
            parse_unit_words(text).ok_or_else(|| CellRefusal::of("unit", Refusal::UnknownUnit))?
        }
    };
    let cells = Cells {
        cell,
        mark,
        unit,
        options,
    };
    let code = StationCode::parse(cells.filled("station")?)
        .map_err(|error| CellRefusal::of("station", Refusal::Code(error)))?;
    let second_stage = cells.second_stage()?;
    Ok(Station {
        code,
        name: cells.text("name", PERSON_BYTES_MAX)?,
        level: cells.text("level", PERSON_BYTES_MAX)?,
        order: cells
            .whole("order", 0, 1_000_000)?
            .unwrap_or(fallback_order),
        unit,
        inlet: cells.gauge(Quantity::Inlet)?,
        interstage: cells.gauge(Quantity::Interstage)?,
        outlet: cells.gauge(Quantity::Outlet)?,
        first_stage: cells.first_stage()?,
        second_stage,
        inlet_usual: cells.inlet_usual()?,
        site: cells.site()?,
    })
}

impl<'a, F: Fn(&str) -> &'a str> Cells<'_, F> {
    fn get(&self, name: &str) -> Option<&'a str> {
        Some((self.cell)(name)).filter(|text| !text.is_empty())
    }

    fn filled(&self, name: &str) -> Parsed<&'a str> {
        self.get(name)
            .ok_or_else(|| CellRefusal::of(name, Refusal::Empty))
    }

    fn text(&self, name: &str, max: usize) -> Parsed<String> {
        let text = self.get(name).unwrap_or("");
        if text.len() > max {
            return Err(CellRefusal::of(name, Refusal::TextTooLong { max }));
        }
        Ok(text.to_owned())
    }

    fn optional<T>(
        &self,
        name: &str,
        read: impl FnOnce(&str) -> Result<T, Refusal>,
    ) -> Parsed<Option<T>> {
        self.get(name)
            .map(|text| read(text).map_err(|refusal| CellRefusal::of(name, refusal)))
            .transpose()
    }

    fn number(&self, name: &str) -> Parsed<Option<Decimal>> {
        self.optional(name, |text| {
            parse_number(text, self.mark).map_err(Refusal::Number)
        })
    }

    /// Per cent; the sign itself may be written.
    fn percent(&self, name: &str) -> Parsed<Option<Decimal>> {
        self.optional(name, |text| {
            let text = text.strip_suffix('%').unwrap_or(text);
            parse_number(text, self.mark).map_err(Refusal::Number)
        })
    }

    fn whole<T: TryFrom<i64>>(&self, name: &str, min: i64, max: i64) -> Parsed<Option<T>> {
        self.optional(name, |text| {
            let refusal = Refusal::WholeNumber { min, max };
            let value = text
                .parse::<i64>()
                .ok()
                .filter(|value| (min..=max).contains(value));
            value
                .and_then(|value| T::try_from(value).ok())
                .ok_or(refusal)
        })
    }

    fn day(&self, name: &str) -> Parsed<Option<NaiveDate>> {
        self.optional(name, |text| {
            let moment = parse_moment(text, self.options.site_offset);
            moment
                .map(|moment| moment.at.date_naive())
                .map_err(Refusal::Moment)
        })
    }

    fn pressure(&self, name: &str) -> Parsed<Option<Typed>> {
        self.optional(name, |text| {
            let number = parse_number_with_unit(text, self.mark).map_err(Refusal::Number)?;
            Ok(number.typed(self.unit))
        })
    }

    /// Two columns that only make sense together.
    fn pair(&self, low: &str, high: &str) -> Parsed<Option<(Typed, Typed)>> {
        match (self.pressure(low)?, self.pressure(high)?) {
            (Some(low), Some(high)) => Ok(Some((low, high))),
            (None, None) => Ok(None),
            (None, Some(_)) => Err(CellRefusal::of(low, Refusal::Empty)),
            (Some(_), None) => Err(CellRefusal::of(high, Refusal::Empty)),
        }
    }

    fn gauge(&self, quantity: Quantity) -> Parsed<Gauge> {
        let named = |what: &str| format!("{}_{what}", quantity.code());
        let span_column = named("span");
        let text = self.filled(&span_column)?;
        let (low, high) = parse_span(text, self.mark, self.unit)
            .map_err(|refusal| CellRefusal::of(&span_column, refusal))?;
        let own_class = named("class");
        let class_column = if self.get(&own_class).is_some() {
            &own_class
        } else {
            "gauge_class"
        };
        let text = self.filled(class_column)?;
        let (class, grade) = parse_class(text, self.mark)
            .map_err(|refusal| CellRefusal::of(class_column, refusal))?;
        let usual = defaults::gauge(high.digits, high.unit, class);
        let division = self.pressure(&named("division"))?;
        Ok(Gauge {
            low,
            grade,
            division: division.map_or(usual.division, |typed| in_unit(typed, high.unit)),
            elevation_mm: self
                .whole(&named("elevation_mm"), -1_000_000, 1_000_000)?
                .unwrap_or(0),
            checked_on: self.day(&named("checked_on"))?,
            ..usual
        })
    }

    fn first_stage(&self) -> Parsed<FirstStage> {
        let as_left_ratio = self.number("as_left_ratio")?;
        let usual = defaults::ratio_tolerance_percent(as_left_ratio.is_some());
        self.filled("ratio")?;
        let ratio = self.optional("ratio", |text| {
            // `2.5:1` is how the trade says it.
            let text = text.strip_suffix(":1").unwrap_or(text);
            parse_number(text, self.mark).map_err(Refusal::Number)
        })?;
        Ok(FirstStage {
            ratio: ratio.ok_or_else(|| CellRefusal::of("ratio", Refusal::Empty))?,
            ratio_tolerance_percent: self.percent("ratio_tolerance")?.unwrap_or(usual),
            as_left_ratio,
            as_left_on: self.day("as_left_on")?,
            valve: self.valve("first_stage")?,
        })
    }

    fn second_stage(&self) -> Parsed<SecondStage> {
        let set_point = self.pressure("set_point")?;
        let set_point = set_point.ok_or_else(|| CellRefusal::of("set_point", Refusal::Empty))?;
        let usual_band = defaults::percent_of(set_point, defaults::SET_POINT_BAND_PERCENT);
        let differential = self.pressure("minimum_differential")?;
        Ok(SecondStage {
            set_point,
            band: self.pressure("band")?.unwrap_or(usual_band),
            minimum_differential: differential.unwrap_or(defaults::MINIMUM_DIFFERENTIAL),
            spring_range: self.pair("spring_low", "spring_high")?,
            valve: self.valve("second_stage")?,
        })
    }

    fn valve(&self, stage: &str) -> Parsed<Valve> {
        let named = |what: &str| format!("{stage}_{what}");
        Ok(Valve {
            size_mm: self.whole(&named("size_mm"), 1, 10_000)?,
            rated_kv: self.number(&named("kv"))?,
            fl: self.number(&named("fl"))?,
            permitted_sigma: self.number(&named("sigma"))?,
            xfz: self.number(&named("xfz"))?,
        })
    }

    fn inlet_usual(&self) -> Parsed<UsualRange> {
        let column = "inlet_typical";
        let text = self.filled(column)?;
        let (low, high) = parse_span(text, self.mark, self.unit)
            .map_err(|refusal| CellRefusal::of(column, refusal))?;
        if let Some((low, high)) = self.pair("inlet_low", "inlet_high")? {
            return Ok(UsualRange { low, high });
        }
        // A single value is read as a span from zero.
        if low.digits.mantissa == 0 {
            Ok(defaults::usual_range(high))
        } else {
            Ok(UsualRange { low, high })
        }
    }

    fn site(&self) -> Parsed<Site> {
        Ok(Site {
            altitude_m: self.whole("altitude_m", -12_000, 9_000)?,
            depth_m: self.whole("depth_m", -9_000, 12_000)?,
            water_temperature_c: self.number("water_temperature_c")?,
            air_temperature_c: self.number("air_temperature_c")?,
            downstream_max: self.pressure("downstream_max")?,
            relief_set: self.pressure("relief_set")?,
            duty: Duty {
                min_m3_h: self.number("flow_min")?,
                usual_m3_h: self.number("flow_usual")?,
                max_m3_h: self.number("flow_max")?,
            },
            hazards: self.text("hazards", NOTE_BYTES_MAX)?,
            access: self.text("access", NOTE_BYTES_MAX)?,
        })
    }
}

/// The digits of a pressure in another unit; as typed where the unit is the same.
fn in_unit(typed: Typed, unit: Unit) -> Decimal {
    if typed.unit == unit {
        typed.digits
    } else {
        typed.converted(unit, 4).digits
    }
}

/// Reads `16`, `0-16`, `-1..5`, `0 to 16`, each with an optional unit behind.
pub(super) fn parse_span(
    text: &str,
    mark: DecimalMark,
    unit: Unit,
) -> Result<(Typed, Typed), Refusal> {
    let text = text
        .replace(" to ", "..")
        .replace(['\u{2013}', '\u{2026}'], "..");
    let letters = text.find(char::is_alphabetic).unwrap_or(text.len());
    let (figures, words) = text.split_at(letters);
    let unit = match words.trim() {
        "" => unit,
        words => parse_unit_words(words).ok_or(Refusal::UnknownUnit)?,
    };
    let figures = figures.trim();
    // A hyphen after a figure parts the two ends; one before a figure is a sign.
    let hyphen = figures.char_indices().skip(1).find(|&(at, c)| {
        c == '-'
            && figures[..at]
                .trim_end()
                .ends_with(|c: char| c.is_ascii_digit())
    });
    let number = |text: &str| {
        parse_number(text, mark).map_err(|fault| match fault {
            NumberFault::NotANumber => Refusal::Span,
            fault => Refusal::Number(fault),
        })
    };
    let (low, high) = if let Some((low, high)) = figures.split_once("..") {
        (number(low)?, number(high)?)
    } else if let Some((at, _)) = hyphen {
        (number(&figures[..at])?, number(&figures[at + 1..])?)
    } else {
        (
            Decimal {
                mantissa: 0,
                exponent: 0,
            },
            number(figures)?,
        )
    };
    Ok((Typed { digits: low, unit }, Typed { digits: high, unit }))
}

/// Reads `1.6`, `1,6 %`, `class 1.6`, `cl. 1.6`, or a grade such as `2A` or `B`.
pub(super) fn parse_class(
    text: &str,
    mark: DecimalMark,
) -> Result<(Decimal, Option<AsmeGrade>), Refusal> {
    let lower = text.to_lowercase();
    let words = ["class", "grade", "cl.", "cl", "kl.", "kl"];
    let bare = words
        .iter()
        .find_map(|word| lower.strip_prefix(word))
        .unwrap_or(&lower)
        .trim();
    if let Some(grade) = AsmeGrade::from_code(bare) {
        #[allow(
            clippy::cast_possible_truncation,
            reason = "grades lie between 0.1 and 5"
        )]
        let hundredths = (grade.percent_of_span(0.0) * 100.0).round() as i64;
        return Ok((
            Decimal {
                mantissa: hundredths,
                exponent: -2,
            },
            Some(grade),
        ));
    }
    let figures = bare.strip_suffix('%').unwrap_or(bare);
    match parse_number(figures, mark) {
        Ok(class) => Ok((class, None)),
        Err(fault) => Err(Refusal::Number(fault)),
    }
}

/// The column a problem of a definition is most plainly put right in.
pub(super) const fn column_of(problem: &Problem) -> &'static str {
    match problem {
        Problem::RatioNotAboveOne { .. } | Problem::RatioUnusual { .. } => "ratio",
        Problem::AsLeftFarFromNominal { .. } => "as_left_ratio",
        Problem::ZeroSpan { quantity, .. }
        | Problem::ExpectedOffScale { quantity, .. }
        | Problem::ExpectedAboveWorkingRange { quantity, .. } => span_column(*quantity),
        Problem::SetPointAboveInterstage { .. }
        | Problem::TooLittleDifferential { .. }
        | Problem::SetPointOutsideSpring { .. } => "set_point",
        Problem::ReliefUnsuited { .. } => "relief_set",
        Problem::GaugeTooCoarse { .. } => "gauge_class",
        Problem::NotPositive { field, .. } | Problem::RangeReversed { field, .. } => {
            field_column(*field)
        }
    }
}

const fn span_column(quantity: Quantity) -> &'static str {
    match quantity {
        Quantity::Inlet => "inlet_span",
        Quantity::Interstage => "interstage_span",
        Quantity::Outlet => "outlet_span",
    }
}

const fn field_column(field: StationField) -> &'static str {
    match field {
        StationField::Ratio => "ratio",
        StationField::AsLeftRatio => "as_left_ratio",
        StationField::RatioTolerance => "ratio_tolerance",
        StationField::SetPoint => "set_point",
        StationField::Band => "band",
        StationField::MinimumDifferential => "minimum_differential",
        StationField::InletUsual => "inlet_typical",
        StationField::SpringRange => "spring_low",
        StationField::GaugeClass(_) => "gauge_class",
        StationField::Division(quantity) => span_column(quantity),
        StationField::RatedKv => "first_stage_kv",
        StationField::RecoveryFactor => "first_stage_fl",
        StationField::PermittedSigma => "first_stage_sigma",
        StationField::Duty => "flow_min",
        StationField::WaterTemperature => "water_temperature_c",
        StationField::AirTemperature => "air_temperature_c",
        StationField::DownstreamMax => "downstream_max",
        StationField::ReliefSet => "relief_set",
    }
}
