//! The hydraulic check as `--json` prints it; described in [`super::hydraulics`].

use serde::Serialize;
use winze_core::hydraulics::{
    AirBasis, Cavitation, ChokedDrop, Failed, FailureCase, Figure, HydraulicCheck, InletCase, Lack,
    RatioWindow, Recommendation, Stage, StageDuty, StageLoad, Survivor,
};
use winze_core::station::Station;
use winze_core::units::Unit;

use super::Outcome;
use crate::messages::hydraulics::recommendation;

#[derive(Debug, Serialize)]
pub(super) struct CheckJson {
    command: &'static str,
    outcome: &'static str,
    station: String,
    conditions: ConditionsJson,
    inlets: Vec<InletJson>,
    set_point: SetPointJson,
    ratio_window: Option<WindowJson>,
    failures: Vec<FailureJson>,
    recommendations: Vec<RecommendationJson>,
    lacking: Vec<LackJson>,
}

#[derive(Debug, Serialize)]
struct ConditionsJson {
    water_temperature_c: Option<f64>,
    density_kg_m3: Option<f64>,
    vapour_pressure_pa_absolute: Option<f64>,
    air_pressure_pa_absolute: Option<f64>,
    air_basis: Option<&'static str>,
}

#[derive(Debug, Serialize)]
struct InletJson {
    point: &'static str,
    inlet_pa: i64,
    interstage_pa: i64,
    outlet_pa: i64,
    starved: bool,
    stages: Vec<StageJson>,
}

#[derive(Debug, Serialize)]
struct StageJson {
    stage: &'static str,
    upstream_pa: i64,
    downstream_pa: i64,
    drop_pa: i64,
    share: Option<f64>,
    #[serde(flatten)]
    cavitation: CavitationJson,
    choked_drop_pa: Option<i64>,
    choked: Option<bool>,
    duties: Vec<DutyJson>,
}

#[derive(Debug, Serialize)]
struct CavitationJson {
    sigma: Option<f64>,
    sigma_limit: Option<f64>,
    sigma_limit_kind: Option<&'static str>,
    keeps_limit: Option<bool>,
}

#[derive(Debug, Serialize)]
struct DutyJson {
    flow: &'static str,
    flow_m3_h: Option<f64>,
    kv: Option<f64>,
    choking: Option<&'static str>,
    share_of_rated: Option<f64>,
    power_w: Option<f64>,
    outlet_velocity_m_s: Option<f64>,
}

#[derive(Debug, Serialize)]
struct SetPointJson {
    set_point_pa: i64,
    needed_pa: i64,
    interstage_expected_pa: i64,
    interstage_least_pa: i64,
    margin_pa: i64,
    spring_share: Option<f64>,
}

#[derive(Debug, Serialize)]
struct WindowJson {
    from: f64,
    up_to: f64,
    suits: bool,
}

#[derive(Debug, Serialize)]
struct FailureJson {
    failed: &'static str,
    interstage_pa: i64,
    outlet_pa: i64,
    protection: Option<&'static str>,
    survivor: Option<SurvivorJson>,
    overranged: Vec<&'static str>,
}

#[derive(Debug, Serialize)]
struct SurvivorJson {
    stage: &'static str,
    #[serde(flatten)]
    cavitation: CavitationJson,
    choked: Option<bool>,
}

#[derive(Debug, Serialize)]
struct RecommendationJson {
    code: &'static str,
    concern: &'static str,
    stage: Option<&'static str>,
    failed: Option<&'static str>,
    what: String,
    next: String,
}

#[derive(Debug, Serialize)]
struct LackJson {
    datum: &'static str,
    why: &'static str,
}

impl CheckJson {
    pub fn new(outcome: Outcome, station: &Station, check: &HydraulicCheck) -> Self {
        let conditions = &check.conditions;
        let place = &check.set_point;
        Self {
            command: "hydraulics",
            outcome: outcome.code(),
            station: station.code.to_string(),
            conditions: ConditionsJson {
                water_temperature_c: value(&conditions.temperature_c),
                density_kg_m3: value(&conditions.density_kg_m3),
                vapour_pressure_pa_absolute: value(&conditions.vapour_pressure_pa),
                air_pressure_pa_absolute: value(&conditions.air_pressure_pa),
                air_basis: conditions.air_basis.map(AirBasis::code),
            },
            inlets: check.inlets.iter().map(InletJson::from).collect(),
            set_point: SetPointJson {
                set_point_pa: place.set_point.pa(),
                needed_pa: place.needed.pa(),
                interstage_expected_pa: place.interstage_expected.pa(),
                interstage_least_pa: place.interstage_least.pa(),
                margin_pa: place.margin().pa(),
                spring_share: place.spring.as_ref().ok().map(|spring| spring.share),
            },
            ratio_window: check.ratio_window.as_ref().ok().map(WindowJson::from),
            failures: check.failures.iter().map(FailureJson::from).collect(),
            recommendations: check
                .recommendations
                .iter()
                .map(|raised| RecommendationJson::new(raised, station.unit))
                .collect(),
            lacking: check.lacking.iter().map(LackJson::from).collect(),
        }
    }
}

fn value(figure: &Figure<f64>) -> Option<f64> {
    figure.as_ref().ok().copied()
}

impl From<&InletCase> for InletJson {
    fn from(case: &InletCase) -> Self {
        Self {
            point: case.point.code(),
            inlet_pa: case.inlet.pa(),
            interstage_pa: case.interstage.pa(),
            outlet_pa: case.outlet.pa(),
            starved: case.is_starved,
            stages: Stage::ALL
                .map(|stage| StageJson::from(case.stage(stage)))
                .into(),
        }
    }
}

impl From<&StageLoad> for StageJson {
    fn from(load: &StageLoad) -> Self {
        let choked: Option<&ChokedDrop> = load.choked.as_ref().ok();
        Self {
            stage: load.stage.code(),
            upstream_pa: load.upstream.pa(),
            downstream_pa: load.downstream.pa(),
            drop_pa: load.drop.pa(),
            share: value(&load.share),
            cavitation: (&load.cavitation).into(),
            choked_drop_pa: choked.map(|choked| choked.drop.pa()),
            choked: choked.map(|choked| choked.is_reached),
            duties: load.duties.iter().map(DutyJson::from).collect(),
        }
    }
}

impl From<&Figure<Cavitation>> for CavitationJson {
    fn from(figure: &Figure<Cavitation>) -> Self {
        let cavitation = figure.as_ref().ok();
        let limit = cavitation.and_then(|cavitation| cavitation.limit.as_ref().ok());
        Self {
            sigma: cavitation.map(|cavitation| cavitation.sigma),
            sigma_limit: limit.map(|limit| limit.sigma),
            sigma_limit_kind: limit.map(|limit| limit.kind.code()),
            keeps_limit: cavitation.and_then(|cavitation| cavitation.keeps_limit().ok()),
        }
    }
}

impl From<&StageDuty> for DutyJson {
    fn from(duty: &StageDuty) -> Self {
        let required = duty.required_kv.as_ref().ok();
        Self {
            flow: duty.flow.code(),
            flow_m3_h: value(&duty.flow_m3_h),
            kv: required.map(|required| required.kv),
            choking: required.map(|required| required.choking.code()),
            share_of_rated: value(&duty.share_of_rated),
            power_w: value(&duty.power_w),
            outlet_velocity_m_s: value(&duty.outlet_velocity_m_s),
        }
    }
}

impl From<&RatioWindow> for WindowJson {
    fn from(window: &RatioWindow) -> Self {
        Self {
            from: window.second_from,
            up_to: window.up_to(),
            suits: window.is_open(),
        }
    }
}

impl From<&FailureCase> for FailureJson {
    fn from(case: &FailureCase) -> Self {
        Self {
            failed: case.failed.code(),
            interstage_pa: case.interstage.pa(),
            outlet_pa: case.outlet.pa(),
            protection: case.protection.as_ref().ok().map(|found| found.code()),
            survivor: case.survivor.as_ref().map(SurvivorJson::from),
            overranged: case
                .overranged
                .iter()
                .map(|gauge| gauge.quantity.code())
                .collect(),
        }
    }
}

impl From<&Survivor> for SurvivorJson {
    fn from(survivor: &Survivor) -> Self {
        Self {
            stage: survivor.stage.code(),
            cavitation: (&survivor.cavitation).into(),
            choked: survivor
                .choked
                .as_ref()
                .ok()
                .map(|choked| choked.is_reached),
        }
    }
}

impl RecommendationJson {
    fn new(raised: &Recommendation, unit: Unit) -> Self {
        let message = recommendation(raised, unit);
        Self {
            code: raised.code(),
            concern: raised.concern().code(),
            stage: raised.stage().map(Stage::code),
            failed: raised.failed().map(Failed::code),
            what: message.what,
            next: message.next,
        }
    }
}

impl From<&Lack> for LackJson {
    fn from(lack: &Lack) -> Self {
        Self {
            datum: lack.datum().code(),
            why: if lack.is_unusable() {
                "unusable"
            } else {
                "missing"
            },
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::presenters::samples;
    use winze_core::hydraulics::check;

    fn json(station: &Station) -> serde_json::Value {
        let found = check(station).expect("a station with sense");
        let value = CheckJson::new(Outcome::Findings, station, &found);
        serde_json::to_value(value).expect("plain data")
    }

    #[test]
    fn figures_stand_under_their_documented_names() {
        let value = json(&samples::complete_station());
        let first = &value["inlets"][1]["stages"][0];
        assert_eq!(value["inlets"][1]["point"], "usual");
        assert_eq!(first["stage"], "first-stage");
        assert_eq!(first["drop_pa"], 612_000);
        assert_eq!(first["sigma_limit"], 1.5);
        assert_eq!(first["keeps_limit"], true);
        assert_eq!(first["duties"][2]["flow_m3_h"], 20.0);
        assert!(first["duties"][2]["kv"].as_f64().is_some_and(|kv| kv > 8.0));
        assert_eq!(value["failures"][2]["failed"], "both-stages-open");
        assert_eq!(value["failures"][2]["protection"], "relief-opens");
        assert_eq!(value["failures"][2]["survivor"], serde_json::Value::Null);
        assert_eq!(value["lacking"].as_array().map(Vec::len), Some(0));
    }

    #[test]
    fn a_figure_without_its_data_is_null_and_the_data_is_named() {
        let value = json(&samples::station());
        let first = &value["inlets"][0]["stages"][0];
        for name in [
            "sigma",
            "sigma_limit",
            "keeps_limit",
            "choked",
            "choked_drop_pa",
        ] {
            assert_eq!(first[name], serde_json::Value::Null, "{name}");
            assert!(first.as_object().is_some_and(|all| all.contains_key(name)));
        }
        let lacking = value["lacking"].as_array().expect("a list");
        let names: Vec<_> = lacking.iter().map(|lack| &lack["datum"]).collect();
        assert!(names.iter().any(|name| *name == "water-temperature"));
        let last = value["recommendations"]
            .as_array()
            .and_then(|all| all.last());
        assert_eq!(last.map(|last| &last["code"]), Some(&"data-lacking".into()));
    }
}
