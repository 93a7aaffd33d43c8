//! What metal lines said of a site when it was sampled, as columns: of the grid's bearing, and of the supply.

use super::columns::Columns;
use super::runs::points;
use crate::class::Class;
use crate::error::KeptFault;
use crate::site::{MetalSupply, Site, SupplyLine};
use std::ops::Range;
use std::sync::Arc;

/// Puts in what metal lines said.
pub(super) fn keep(site: &Site, columns: &mut Columns) {
    let evidence = || site.bearing_evidence.iter();
    columns.put("metal_bearings/rad", evidence().map(|it| it.0).collect::<Vec<f64>>());
    columns.put("metal_bearings/factor", evidence().map(|it| it.1).collect::<Vec<f64>>());
    let Some(supply) = &site.metal_supply else { return };
    columns.put_whole("supply_cases/lines", supply.cases.iter().map(Vec::len));
    columns.put("supply_bearings/rad", supply.shares.iter().map(|it| it.0).collect::<Vec<f64>>());
    columns.put_whole("supply_bearings/cases", supply.shares.iter().map(|it| it.1.len()));
    let shares = supply.shares.iter().flat_map(|it| &it.1);
    columns.put("supply_shares/share", shares.copied().collect::<Vec<f64>>());
    let lines = || supply.cases.iter().flatten();
    columns.put_whole("supply_lines/class", lines().map(|line| line.class as usize));
    columns.put_flags("supply_lines/is_wire", lines().map(|line| line.wire));
    columns.put_flags("supply_lines/is_fed", lines().map(|line| line.fed));
    columns.put_whole("supply_lines/points", lines().map(|line| line.course.len()));
    let course = || lines().flat_map(|line| &line.course);
    columns.put("supply_points/x_m", course().map(|at| at.x).collect::<Vec<f64>>());
    columns.put("supply_points/y_m", course().map(|at| at.y).collect::<Vec<f64>>());
    type Ends = fn(&SupplyLine) -> &Vec<usize>;
    let ends: [(&str, Ends); 3] =
        [("sources", |l| &l.sources), ("outlets", |l| &l.outlets), ("boxes", |l| &l.boxes)];
    for (name, of) in ends {
        columns.put_whole(&format!("supply_lines/{name}"), lines().map(|line| of(line).len()));
        columns.put_whole(&format!("supply_{name}/index"), lines().flat_map(|line| of(line).iter().copied()));
    }
}

/// The site as it was sampled: with what metal lines said of it.
pub(super) fn informed(site: &Site, columns: &Columns) -> Result<Site, KeptFault> {
    let (rad, factor) = (columns.floats("metal_bearings/rad")?, columns.floats("metal_bearings/factor")?);
    let evidence = rad.iter().copied().zip(factor.iter().copied()).collect();
    let supply = match columns.get("supply_cases/lines") {
        Some(_) => Some(Arc::new(supply(site, columns)?)),
        None => None,
    };
    Ok(site.with_bearing_evidence(evidence).with_metal_supply(supply))
}

fn supply(site: &Site, columns: &Columns) -> Result<MetalSupply, KeptFault> {
    let class = columns.indices("supply_lines/class", Class::ALL.len())?;
    let (wire, fed) = (columns.flags("supply_lines/is_wire")?, columns.flags("supply_lines/is_fed")?);
    let course = points(columns, "supply_points")?;
    let own_course = columns.ranges("supply_lines/points", course.len())?;
    let ends = |name: &str, count: usize| -> Result<(Vec<usize>, Vec<Range<usize>>), KeptFault> {
        let all = columns.indices(&format!("supply_{name}/index"), count)?;
        let own = columns.ranges(&format!("supply_lines/{name}"), all.len())?;
        Ok((all, own))
    };
    let sources = ends("sources", site.sources.len())?;
    let outlets = ends("outlets", site.outlets.len())?;
    let boxes = ends("boxes", site.valve_boxes.len())?;
    let own = |(all, own): &(Vec<usize>, Vec<Range<usize>>), k: usize| all[own[k].clone()].to_vec();
    let line = |k: usize| SupplyLine {
        class: Class::ALL[class[k]],
        wire: wire[k],
        course: course[own_course[k].clone()].to_vec(),
        fed: fed[k],
        sources: own(&sources, k),
        outlets: own(&outlets, k),
        boxes: own(&boxes, k),
    };
    let cases = columns.ranges("supply_cases/lines", class.len())?;
    let rad = columns.floats("supply_bearings/rad")?;
    let share = columns.floats("supply_shares/share")?;
    let own_shares = columns.ranges("supply_bearings/cases", share.len())?;
    if let Some(other) = own_shares.iter().find(|own| own.len() != cases.len()) {
        let column = "supply_bearings/cases".to_owned();
        return Err(KeptFault::Length { column, found: other.len(), wanted: cases.len() });
    }
    let shares = rad.iter().zip(own_shares).map(|(rad, own)| (*rad, share[own].to_vec()));
    Ok(MetalSupply {
        cases: cases.into_iter().map(|lines| lines.map(line).collect()).collect(),
        shares: shares.collect(),
    })
}
