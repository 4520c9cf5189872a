//! The figures of the check, table by table.

use winze_core::hydraulics::{
    AirBasis, Cavitation, ChokedDrop, Choking, DutyFlow, Failed, FailureCase, Figure, Gap,
    HydraulicCheck, InletCase, InletPoint, LimitKind, Protection, RequiredKv, Stage,
};
use winze_core::units::Unit;

use super::{NOT_KNOWN, Row, Subject, Table};
use crate::messages::hydraulics::stage_in_words;
use crate::messages::number::{amount, percent, significant};

const fn inlet_head(point: InletPoint) -> &'static str {
    match point {
        InletPoint::Low => "lowest",
        InletPoint::Usual => "middle",
        InletPoint::High => "highest",
    }
}

/// A figure as text, or that it is not there.
pub(super) fn cell<T>(figure: &Figure<T>, show: impl FnOnce(&T) -> String) -> String {
    match figure {
        Ok(value) => show(value),
        Err(Gap::Lacking(_)) => NOT_KNOWN.to_owned(),
        Err(Gap::NoDrop) => "no drop".to_owned(),
        Err(Gap::Boils) => "boils".to_owned(),
    }
}

pub(super) fn loads(check: &HydraulicCheck, unit: Unit) -> Table {
    let across = |name: &str, show: &dyn Fn(&InletCase) -> String| {
        Row::new(name, check.inlets.iter().map(show))
    };
    let mut rows = vec![
        across("inlet", &|case| amount(case.inlet, unit)),
        across("interstage", &|case| amount(case.interstage, unit)),
        across("outlet", &|case| {
            let starved = if case.is_starved { ", starved" } else { "" };
            format!("{}{starved}", amount(case.outlet, unit))
        }),
    ];
    for stage in Stage::ALL {
        let name = |what: &str| format!("{}: {what}", stage_in_words(stage));
        rows.push(across(&name("takes off"), &|case| {
            amount(case.stage(stage).drop, unit)
        }));
        rows.push(across(&name("share of drop and power"), &|case| {
            cell(&case.stage(stage).share, |share| percent(*share))
        }));
        rows.push(across(&name("sigma"), &|case| {
            sigma(&case.stage(stage).cavitation)
        }));
        rows.push(across(&name("sigma at least"), &|case| {
            limit(&case.stage(stage).cavitation)
        }));
        rows.push(across(&name("choked from"), &|case| {
            choked(&case.stage(stage).choked, unit)
        }));
    }
    Table {
        subject: Subject::Pressures,
        title: "Pressures and load over the usual inlet range".into(),
        columns: InletPoint::ALL.map(|point| inlet_head(point).into()).into(),
        rows,
        note: "Sigma is (p1 - pv)/(p1 - p2) on absolute pressures, held against the limit the \
               stage's own maker states."
            .into(),
    }
}

fn sigma(cavitation: &Figure<Cavitation>) -> String {
    cell(cavitation, |cavitation| significant(cavitation.sigma, 3))
}

fn limit(cavitation: &Figure<Cavitation>) -> String {
    cell(cavitation, |cavitation| {
        cell(&cavitation.limit, |limit| {
            let kind = match limit.kind {
                LimitKind::Permitted => "permitted",
                LimitKind::Onset => "onset",
            };
            format!("{} ({kind})", significant(limit.sigma, 3))
        })
    })
}

fn choked(choked: &Figure<ChokedDrop>, unit: Unit) -> String {
    cell(choked, |choked| {
        let reached = if choked.is_reached { ", choked" } else { "" };
        format!("{}{reached}", amount(choked.drop, unit))
    })
}

pub(super) fn duties(check: &HydraulicCheck, stage: Stage) -> Table {
    let usual = &check.at(InletPoint::Usual).stage(stage).duties;
    let mut rows = vec![Row::new(
        "flow",
        usual.iter().map(|duty| {
            cell(&duty.flow_m3_h, |flow| {
                format!("{} m³/h", significant(*flow, 3))
            })
        }),
    )];
    for point in InletPoint::ALL {
        let duties = &check.at(point).stage(stage).duties;
        rows.push(Row::new(
            format!("Kv needed, {} inlet", inlet_head(point)),
            duties.iter().map(|duty| cell(&duty.required_kv, kv)),
        ));
        rows.push(Row::new(
            format!("share of rated Kv, {} inlet", inlet_head(point)),
            duties
                .iter()
                .map(|duty| cell(&duty.share_of_rated, |share| percent(*share))),
        ));
    }
    rows.push(Row::new(
        "power turned into heat, middle inlet",
        usual.iter().map(|duty| cell(&duty.power_w, |w| power(*w))),
    ));
    rows.push(Row::new(
        "outlet velocity",
        usual.iter().map(|duty| {
            cell(&duty.outlet_velocity_m_s, |velocity| {
                format!("{} m/s", significant(*velocity, 2))
            })
        }),
    ));
    let head = |flow| match flow {
        DutyFlow::Min => "smallest",
        DutyFlow::Usual => "usual",
        DutyFlow::Max => "largest",
    };
    Table {
        subject: match stage {
            Stage::First => Subject::FirstStage,
            Stage::Second => Subject::SecondStage,
        },
        title: format!("Duty of the {}", stage_in_words(stage)),
        columns: DutyFlow::ALL.map(|flow| head(flow).into()).into(),
        rows,
        note: "Kv by IEC 60534-2-1 without reducers, in m³/h at 1 bar.".into(),
    }
}

pub(super) fn kv(required: &RequiredKv) -> String {
    let kv = significant(required.kv, 3);
    match required.choking {
        Choking::No => kv,
        Choking::Yes => format!("{kv}, choked"),
        Choking::Unknown => format!("at least {kv}"),
    }
}

pub(super) fn power(watts: f64) -> String {
    if watts < 1000.0 {
        format!("{watts:.0} W")
    } else {
        format!("{} kW", significant(watts / 1000.0, 3))
    }
}

pub(super) fn set_point(check: &HydraulicCheck, unit: Unit) -> Table {
    let place = &check.set_point;
    let row = |name: &str, text: String| Row::new(name, [text]);
    let mut rows = vec![
        row("set point", amount(place.set_point, unit)),
        row("interstage pressure it needs", amount(place.needed, unit)),
        row(
            "to expect at the lowest inlet",
            amount(place.interstage_expected, unit),
        ),
        row(
            "at the end of the ratio's tolerance",
            amount(place.interstage_least, unit),
        ),
        row("in hand then", amount(place.margin(), unit)),
        row(
            "place in the pilot spring's range",
            cell(&place.spring, |spring| {
                format!(
                    "{} of {} to {}",
                    percent(spring.share),
                    amount(spring.low, unit),
                    amount(spring.high, unit)
                )
            }),
        ),
    ];
    rows.push(row(
        "ratios that suit both stages and the supply",
        cell(&check.ratio_window, |window| {
            if window.is_open() {
                format!(
                    "{} to {}",
                    significant(window.second_from, 3),
                    significant(window.up_to(), 3)
                )
            } else {
                "none".to_owned()
            }
        }),
    ));
    Table {
        subject: Subject::SetPoint,
        title: "Set point and ratio".into(),
        columns: Vec::new(),
        rows,
        note: String::new(),
    }
}

pub(super) fn failures(check: &HydraulicCheck, unit: Unit) -> Table {
    let across = |name: &str, show: &dyn Fn(&FailureCase) -> String| {
        Row::new(name, check.failures.iter().map(show))
    };
    let head = |failed| match failed {
        Failed::First => "first open",
        Failed::Second => "second open",
        Failed::Both => "both open",
    };
    Table {
        subject: Subject::Failures,
        title: "A stage stuck open, no draw-off, inlet at its highest".into(),
        columns: Failed::ALL.map(|failed| head(failed).into()).into(),
        rows: vec![
            across("interstage", &|case| amount(case.interstage, unit)),
            across("outlet", &|case| amount(case.outlet, unit)),
            across("pipework downstream", &|case| {
                cell(&case.protection, |protection| match protection {
                    Protection::WithinPermitted { margin } => {
                        format!("within, {} in hand", amount(*margin, unit))
                    }
                    Protection::ReliefOpens { relief } => {
                        format!("relief opens at {}", amount(*relief, unit))
                    }
                    Protection::None { excess, .. } => {
                        format!("{} too much", amount(*excess, unit))
                    }
                })
            }),
            across("sigma of the stage left", &|case| {
                case.survivor.as_ref().map_or_else(
                    || "none left".to_owned(),
                    |survivor| sigma(&survivor.cavitation),
                )
            }),
            across("sigma at least", &|case| {
                case.survivor.as_ref().map_or_else(
                    || "none left".to_owned(),
                    |survivor| limit(&survivor.cavitation),
                )
            }),
        ],
        note: "Whether a relief valve can pass the flow is not checked here.".into(),
    }
}

pub(super) fn conditions(check: &HydraulicCheck) -> Table {
    let conditions = &check.conditions;
    let row = |name: &str, text: String| Row::new(name, [text]);
    Table {
        subject: Subject::Conditions,
        title: "Water and air".into(),
        columns: Vec::new(),
        rows: vec![
            row(
                "water temperature",
                cell(&conditions.temperature_c, |c| format!("{c} °C")),
            ),
            row(
                "density",
                cell(&conditions.density_kg_m3, |rho| format!("{rho:.1} kg/m³")),
            ),
            row(
                "vapour pressure",
                cell(&conditions.vapour_pressure_pa, |pa| {
                    format!("{:.2} kPa absolute", pa / 1000.0)
                }),
            ),
            row(
                "air pressure",
                cell(&conditions.air_pressure_pa, |pa| {
                    format!("{:.1} kPa absolute", pa / 1000.0)
                }),
            ),
        ],
        note: match conditions.air_basis {
            Some(AirBasis::DepthBelowSeaLevel) => {
                "Air pressure by depth, the surface taken at sea level: give the altitude where \
                 it lies higher."
                    .into()
            }
            Some(AirBasis::Altitude) | None => String::new(),
        },
    }
}
