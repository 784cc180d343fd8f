//! Amounts over time, as lines of steps: stock that comes and goes, work that gets done.

use super::Chart;
use super::axis::{Across, Up, digits};
use chrono::NaiveDate;

/// One line of a curve.
#[derive(Debug, Clone)]
pub struct Line {
    /// What it is called, such as `done`.
    pub name: String,
    /// Whether it is only planned: drawn broken.
    pub planned: bool,
    /// Days, in order, each with the amount from then on.
    pub points: Vec<(NaiveDate, f64)>,
}

/// Amounts over time.
#[derive(Debug, Clone)]
pub struct Curve {
    /// An id on the page, of letters and hyphens.
    pub id: String,
    /// What it shows.
    pub name: String,
    /// Unit of the amounts.
    pub unit: String,
    /// Whether amounts are counted, not measured.
    pub counted: bool,
    /// The lines.
    pub lines: Vec<Line>,
    /// The day it is looked at.
    pub today: NaiveDate,
}

/// Draws it; none where there is not a single point. Below zero the line is marked and said.
pub fn curve(of: &Curve) -> Option<Chart> {
    let points = || of.lines.iter().flat_map(|l| &l.points);
    points().next()?;
    let mut heads = vec!["Day"];
    heads.extend(of.lines.iter().map(|l| l.name.as_str()));
    let mut chart = Chart::new(&of.id, &of.name, &heads);
    // Names of lines stand above their ends, and need room there.
    let room = if of.lines.len() > 1 { 1.12 } else { 1.0 };
    let up = Up::over(points().map(|p| p.1 * room));
    let across = Across::over(points().map(|p| p.0).chain([of.today]))?;
    up.draw(&mut chart, &of.unit, of.counted);
    across.draw(&mut chart);
    across.line(&mut chart, "today", of.today, "today");
    for line in &of.lines {
        let Some((first, rest)) = line.points.split_first() else { continue };
        let mut path = format!("M{:.1} {:.1}", across.at(first.0), up.at(first.1));
        for (day, amount) in rest {
            path += &format!("H{:.1}V{:.1}", across.at(*day), up.at(*amount));
        }
        if !line.planned {
            // What is done stays done until today.
            path +=
                &format!("H{:.1}", across.at(of.today).max(across.at(line.points[rest.len()].0)));
        }
        chart.mark(if line.planned { "planned" } else { "done" }, path);
        // A line that is alone needs no name, and a name at its end may lie over it.
        if of.lines.len() < 2 {
            continue;
        }
        let (day, amount) = line.points[rest.len()];
        let (x, y) = (across.at(day), up.at(amount));
        let word = format!("{}: {} {}", line.name, digits(amount), of.unit);
        // Above its end and to the left, where a line that rises has not been.
        let (x, anchor) =
            if x > super::axis::WIDTH * 0.3 { (x, "end") } else { (x - 3.0, "start") };
        chart.label((x, y - 6.0), anchor, word);
    }
    let short = points().filter(|p| p.1 < 0.0).min_by_key(|p| p.0);
    if let Some((day, _)) = short {
        across.line(&mut chart, "mark", *day, "short");
    }
    let ends = of.lines.iter().filter_map(|l| {
        let (day, amount) = l.points.last()?;
        let short = if *amount < 0.0 { " short" } else { "" };
        Some(format!("{}: {} {}{short} on {day}", l.name, digits(amount.abs()), of.unit))
    });
    chart.says = ends.collect::<Vec<_>>().join("; ");
    if let Some((day, amount)) = short {
        chart.says += &format!("; short from {day} on, first by {} {}", digits(-amount), of.unit);
    }
    let mut days: Vec<NaiveDate> = points().map(|p| p.0).collect();
    days.sort_unstable();
    days.dedup();
    let rows = days.into_iter().map(|day| {
        let mut row = vec![day.to_string()];
        row.extend(of.lines.iter().map(|l| {
            let on = l.points.iter().rev().find(|p| p.0 == day);
            on.map_or(String::new(), |p| format!("{} {}", digits(p.1), of.unit))
        }));
        row
    });
    chart.rows(rows.collect());
    Some(chart)
}
