//! Shows one station: its readings, its hydraulic check, its definition.

use slint::ComponentHandle as _;

use super::convert::tone;
use super::office_convert::{self as to, list, text};
use super::office_show::Lists;
use crate::markup::{self, HydraulicsAdapter, OfficeStationAdapter, OfficeWindow};
use crate::office::session::{Panel, Session};
use crate::presenters::hydraulics::Finding;
use crate::presenters::office_hydraulics::{Part, SheetCell, SheetRow, SheetTable};
use crate::presenters::office_view::StationPage;

impl Lists {
    /// Shows the station, and of it the side that is chosen.
    pub(super) fn show_station(&self, window: &OfficeWindow, session: &Session, with_fields: bool) {
        let adapter = window.global::<OfficeStationAdapter>();
        let view = session.station_page();
        adapter.set_back_label(text(session.back_label()));
        adapter.set_code(text(&view.code));
        adapter.set_name(text(&view.name));
        adapter.set_revision(text(&view.revision));
        adapter.set_panel(to::panel(session.panel()));
        match session.panel() {
            Panel::Readings => self.show_readings(&adapter, &view),
            Panel::Hydraulics => show_hydraulics(window, session),
            Panel::Definition => show_definition(&adapter, &view),
        }
        if with_fields {
            let (set_point, band) = session.change();
            adapter.set_set_point(text(set_point));
            adapter.set_band(text(band));
        }
    }

    fn show_readings(&self, adapter: &OfficeStationAdapter, view: &StationPage) {
        adapter.set_reading_title(text(&view.reading_title));
        if let [inlet, interstage, outlet] = view.gauges.as_slice() {
            let mut faces = self.faces.borrow_mut();
            adapter.set_inlet(faces[0].gauge(inlet));
            adapter.set_interstage(faces[1].gauge(interstage));
            adapter.set_outlet(faces[2].gauge(outlet));
        }
        adapter.set_chosen_gauge(i32::try_from(view.chosen_gauge).unwrap_or(0));
        adapter.set_meaning(text(&view.meaning));
        adapter.set_readings_title(text(&view.readings_title));
        adapter.set_nothing(text(&view.nothing));
        self.readings.set(view.readings.iter().map(to::reading));
        adapter.set_page(to::page(&view.page));
        adapter.set_sum_title(text(&view.sum_title));
        adapter.set_sum(list(&view.sum, to::sum));
    }
}

fn show_definition(adapter: &OfficeStationAdapter, view: &StationPage) {
    adapter.set_definition(list(&view.definition, to::fact));
    adapter.set_problems(list(&view.problems, to::fact));
    adapter.set_unit(text(&view.unit));
    adapter.set_change_title(text(&view.change_title));
    adapter.set_change_effect(list(&view.change_effect, to::fact));
    adapter.set_change_problem(text(&view.change_problem));
    adapter.set_can_save(view.can_save);
}

fn show_hydraulics(window: &OfficeWindow, session: &Session) {
    let adapter = window.global::<HydraulicsAdapter>();
    let view = session.hydraulics_view();
    adapter.set_nothing(text(&view.nothing));
    adapter.set_is_flow(view.part == Part::Flow);
    adapter.set_findings_title(text(&view.findings_title));
    adapter.set_findings(list(&view.findings, finding));
    adapter.set_findings_page(to::page(&view.findings_page));
    adapter.set_left(list(&view.left, table));
    adapter.set_right(list(&view.right, table));
    adapter.set_lacking_title(text(&view.lacking_title));
    adapter.set_lacking(super::convert::texts(&view.lacking));
}

fn finding(finding: &Finding) -> markup::HydraulicFinding {
    markup::HydraulicFinding {
        tone: tone(finding.tone),
        word: text(&finding.word),
        what: text(&finding.what),
        next: text(&finding.next),
    }
}

fn table(table: &SheetTable) -> markup::SheetTableState {
    markup::SheetTableState {
        title: text(&table.title),
        columns: super::convert::texts(&table.columns),
        rows: list(&table.rows, row),
        note: text(&table.note),
    }
}

fn row(row: &SheetRow) -> markup::SheetRow {
    let values: Vec<&str> = row.cells.iter().map(|cell| cell.text.as_str()).collect();
    markup::SheetRow {
        is_heading: row.is_heading,
        name: text(&row.name),
        cells: list(&row.cells, cell),
        spoken: format!("{}: {}", row.name, values.join(", ")).into(),
    }
}

fn cell(cell: &SheetCell) -> markup::SheetCell {
    markup::SheetCell {
        text: text(&cell.text),
        is_gap: cell.is_gap,
    }
}
