//! Facts that simulated sites must agree with: what was asked of them before any was made, and what makes them a fair test. Measured over 200
//! sites and printed: `cargo test --test statistical walk::facts -- --nocapture`.

use super::judge::{JUDGED, sites};
use super::scores::tells;
use super::survey::Class;
use super::truth::{End, MarkIs, Origin};
use super::{Names, Site, site};
use crate::plane::{inside, length, nearest_on_path, to_edge};
use std::sync::OnceLock;

fn all() -> &'static [Site] {
    static ALL: OnceLock<Vec<Site>> = OnceLock::new();
    ALL.get_or_init(|| sites(JUDGED, Names::Given))
}

fn share(n: usize, of: usize) -> f64 {
    n as f64 / of as f64
}

fn quantile(values: &mut [f64], q: f64) -> f64 {
    values.sort_by(f64::total_cmp);
    values[((values.len() - 1) as f64 * q).round() as usize]
}

#[test]
fn a_seed_is_one_site_for_ever_and_another_seed_another() {
    let shape = |seed, names| format!("{:?}", site(seed, names));
    assert_eq!(shape(5, Names::Given), shape(5, Names::Given));
    assert_ne!(shape(5, Names::Given), shape(6, Names::Given));
    let (with, without) = (site(5, Names::Given), site(5, Names::NotGiven));
    assert!(without.survey.flags.iter().all(|f| f.name.is_none()));
    let flags = |s: &Site| format!("{:?}", s.survey.flags.iter().map(|f| (f.at, f.sd_m)).collect::<Vec<_>>());
    assert_eq!(flags(&with), flags(&without), "names alone differ");
    assert_eq!(format!("{:?}", with.holes), format!("{:?}", without.holes));
}

#[test]
fn lines_are_as_many_and_run_as_asked() {
    let lines: Vec<_> = all().iter().flat_map(|s| &s.truth.lines).collect();
    for n in 1..=5 {
        let k = all().iter().filter(|s| s.truth.lines.len() == n).count();
        println!("{k} sites of {n} lines");
        assert!(k >= 8, "{k} sites of {n} lines");
    }
    for class in Class::ALL {
        let of = lines.iter().filter(|l| l.class == class);
        let mut covers: Vec<f64> = of.clone().flat_map(|l| l.cover_m.iter().copied()).collect();
        let [low, mid, high] = [0.05, 0.5, 0.95].map(|q| quantile(&mut covers, q));
        println!("{} {}: cover {low:.2} {mid:.2} {high:.2} m", of.count(), class.name());
        assert!(low > 0.05 && high < 0.9);
    }
    let bends: Vec<usize> = lines.iter().map(|l| l.bends.len()).collect();
    for n in 0..=3 {
        println!(
            "{:.2} of lines have {n} bends",
            share(bends.iter().filter(|b| **b == n).count(), bends.len())
        );
        assert!(bends.contains(&n));
    }
    assert!(bends.iter().all(|n| *n <= 3));
    let turns: Vec<f64> = lines.iter().flat_map(|l| l.bends.iter().map(|b| b.turn_deg)).collect();
    let square = share(turns.iter().filter(|t| (**t - 90.0).abs() < 10.0).count(), turns.len());
    // pieces on the axes of the lot, by length: the first edge of the boundary is one of them
    let (mut on, mut total) = (0.0, 0.0);
    for s in all() {
        let edge = (s.survey.boundary[1] - s.survey.boundary[0]).unit();
        for l in &s.truth.lines {
            let mut arcs = vec![0.0];
            arcs.extend(l.bends.iter().map(|b| b.arc_m));
            arcs.push(l.course.length());
            for w in arcs.windows(2) {
                let d = (l.course.at(w[1]) - l.course.at(w[0])).unit();
                total += w[1] - w[0];
                on += if d.dot(edge).abs().min(d.cross(edge).abs()) < 4f64.to_radians().sin() {
                    w[1] - w[0]
                } else {
                    0.0
                };
            }
        }
    }
    println!("{square:.2} of bends within 10 degrees of square; {:.2} of length on the axes", on / total);
    assert!((0.65..0.95).contains(&square) && (0.65..0.92).contains(&(on / total)));
    let ends: Vec<End> = lines.iter().flat_map(|l| l.ends).collect();
    let of = |f: fn(&End) -> bool| share(ends.iter().filter(|e| f(e)).count(), ends.len());
    let [seen, unseen, edge, bare] = [
        of(|e| matches!(e, End::At(_))),
        of(|e| *e == End::Unseen),
        of(|e| *e == End::Edge),
        of(|e| *e == End::Bare),
    ];
    println!("ends: fixture {seen:.2}, unseen {unseen:.2}, edge of the lot {edge:.2}, bare {bare:.2}");
    assert!(seen > 0.4 && unseen > 0.05 && edge > 0.05 && bare > 0.03);
    for s in all() {
        for (l, e) in s.truth.lines.iter().flat_map(|l| [(l, 0), (l, 1)]) {
            if let End::At(f) = l.ends[e] {
                let (f, end) = (s.survey.fixtures[f], l.course.at(e as f64 * l.course.length()));
                assert!(
                    f.at.to(end) < 6.0 * f.sd_m,
                    "site {}: a fixture {:?} away from its end",
                    s.survey.seed,
                    f.kind
                );
            }
        }
        for l in &s.truth.lines {
            let off = l
                .course
                .points()
                .iter()
                .filter(|p| !inside(**p, &s.survey.boundary) && to_edge(**p, &s.survey.boundary) > 0.15);
            assert_eq!(off.count(), 0, "site {}: a line off the lot", s.survey.seed);
        }
    }
}

#[test]
fn crossings_and_parallels_occur_as_asked() {
    let crossings: Vec<_> = all().iter().flat_map(|s| &s.truth.crossings).collect();
    let square = crossings.iter().filter(|c| c.angle_deg > 80.0).count();
    let oblique = crossings.iter().filter(|c| c.angle_deg < 65.0).count();
    println!("{} crossings, {square} near square, {oblique} below 65 degrees", crossings.len());
    assert!(crossings.len() > 80 && square * 2 > crossings.len() && oblique >= 10);
    // two lines side by side for 4 m or more
    let mut beside = 0;
    let mut gaps = Vec::new();
    for s in all() {
        let mut any = false;
        for (i, a) in s.truth.lines.iter().enumerate() {
            for b in &s.truth.lines[i + 1..] {
                let off: Vec<f64> = (0..a.course.length() as usize * 4)
                    .filter_map(|k| {
                        let at = 0.25 * k as f64;
                        let (arc, off) = b.course.nearest(a.course.at(at));
                        let along = a.course.direction(at).cross(b.course.direction(arc)).abs() < 0.17;
                        (along && off < 2.1).then_some(off)
                    })
                    .collect();
                if off.len() >= 16 {
                    any = true;
                    gaps.extend(off);
                }
            }
        }
        beside += usize::from(any);
    }
    let [low, mid, high] = [0.02, 0.5, 0.98].map(|q| quantile(&mut gaps, q));
    println!("{beside} sites with parallels, {low:.2} {mid:.2} {high:.2} m apart");
    assert!((30..140).contains(&beside) && low > 0.35 && high < 2.11);
}

#[test]
fn walks_are_as_asked() {
    let (mut steps, mut gaps, mut ratios) = (Vec::new(), Vec::new(), Vec::new());
    let (mut flags, mut strays, mut depths, mut tones) = (0, 0, 0, 0);
    let (mut named, mut wrong, mut strays_named, mut unflagged, mut partly) = (0, 0, 0, 0, 0);
    for s in all() {
        let n = s.survey.flags.len();
        let stray = s.truth.flags.iter().filter(|o| **o == Origin::Stray).count();
        assert!(
            (stray as f64 - 0.05 * n as f64) > -1.0 && (stray as f64 - 0.2 * n as f64) < 1.0,
            "{stray} of {n}"
        );
        flags += n;
        strays += stray;
        for (k, l) in s.truth.lines.iter().enumerate() {
            let of = s.truth.flags_of(k);
            for w in of.windows(2) {
                let step = w[1].0 - w[0].0;
                if step <= 3.0 { steps.push(step) } else { gaps.push(step) }
            }
            unflagged += usize::from(of.is_empty());
            partly +=
                usize::from(s.truth.flagged_part(k).is_some_and(|p| p.1 - p.0 < 0.7 * l.course.length()));
        }
        let mut square = 0.0;
        for (f, o) in s.survey.flags.iter().zip(&s.truth.flags) {
            depths += usize::from(f.depth_m.is_some());
            tones += usize::from(f.class.is_some());
            match *o {
                Origin::Stray => strays_named += usize::from(f.name.is_some()),
                Origin::On { line, arc_m } => {
                    square += (s.truth.lines[line].course.at(arc_m).to(f.at) / f.sd_m).powi(2) / 2.0;
                    named += usize::from(f.name.is_some());
                    wrong += usize::from(f.name.as_ref().is_some_and(|n| *n != format!("line {}", line + 1)));
                    assert!((0.02..0.4).contains(&f.sd_m));
                }
            }
        }
        ratios.push((square / (n - stray) as f64).sqrt());
    }
    let share_wrong = share(wrong, named);
    println!(
        "{:.1} flags a site, strays {:.3}, with depth {:.3}, with tone {:.3}; names wrong {share_wrong:.4}, strays named {:.2}",
        share(flags, all().len()),
        share(strays, flags),
        share(depths, flags),
        share(tones, flags),
        share(strays_named, strays)
    );
    let lines = all().iter().map(|s| s.truth.lines.len()).sum::<usize>();
    let in_order = all().iter().filter(|s| s.survey.in_walking_order).count();
    println!(
        "{in_order} sites in order; of {lines} lines {unflagged} without a flag, {partly} flagged over less than 0.7"
    );
    let [g0, g1, g2] = [0.1, 0.5, 0.9].map(|q| quantile(&mut gaps, q));
    println!("{} steps, {} gaps of {g0:.1} {g1:.1} {g2:.1} m", steps.len(), gaps.len());
    let [r0, r1, r2] = [0.05, 0.5, 0.95].map(|q| quantile(&mut ratios, q));
    println!("true over stated standard deviation by site {r0:.2} {r1:.2} {r2:.2}");
    assert!((0.10..0.15).contains(&share(strays, flags)));
    assert!((0.008..0.03).contains(&share_wrong));
    // a shorter way between flags is one across the border of two stretches
    assert!(share(steps.iter().filter(|s| **s < 1.0).count(), steps.len()) < 0.05);
    assert!((1.85..2.15).contains(&(steps.iter().sum::<f64>() / steps.len() as f64)));
    assert!(gaps.len() > 80 && (3.2..8.0).contains(&g1));
    assert!(r0 > 0.6 && (0.9..1.1).contains(&r1) && r2 < 1.6);
    assert!((60..140).contains(&in_order));
}

#[test]
fn marks_are_as_asked() {
    let (mut off, mut kinds, mut short) = (Vec::new(), [0usize; 3], 0);
    for s in all() {
        for (mark, origin) in s.survey.marks.iter().zip(&s.truth.marks) {
            let line = &s.truth.lines[origin.line];
            kinds[origin.is as usize] += 1;
            if origin.is == MarkIs::Right {
                off.extend(mark.path.iter().map(|p| nearest_on_path(*p, line.course.points()).1));
                short += usize::from(length(&mark.path) < 0.9 * line.course.length());
                assert_eq!(mark.class, line.class);
            }
        }
    }
    let n: usize = kinds.iter().sum();
    let [mid, high, most] = [0.5, 0.9, 1.0].map(|q| quantile(&mut off, q));
    println!(
        "{n} marks, wrong class {}, wrong place {}; off {mid:.2} {high:.2} {most:.2} m; {short} end early",
        kinds[1], kinds[2]
    );
    assert!(n > 100 && (0.03..0.2).contains(&share(kinds[1] + kinds[2], n)));
    assert!((0.05..0.4).contains(&mid) && most <= 1.0 + 1e-9 && short * 2 > n);
}

#[test]
fn holes_fill_the_bins_and_ends_tell_often_enough() {
    let mut by = [(0usize, 0usize); 4];
    for s in all() {
        assert!((60..=100).contains(&s.holes.len()));
        for hole in &s.holes {
            let near =
                s.truth.lines.iter().map(|l| l.course.nearest(hole.at).1).fold(f64::INFINITY, f64::min);
            let k = [0.5, 2.0, 5.0].iter().position(|d| near < *d).unwrap_or(3);
            by[k].0 += 1;
            by[k].1 += usize::from(s.truth.strikes(hole));
        }
    }
    let n: usize = by.iter().map(|b| b.0).sum();
    for (b, what) in by.iter().zip(["under 0.5 m", "0.5 to 2 m", "2 to 5 m", "farther"]) {
        println!("holes {what} from a line: {:.2}, struck {:.3}", share(b.0, n), share(b.1, b.0));
    }
    assert!((0.2..0.5).contains(&share(by[0].0, n)) && (0.2..0.5).contains(&share(by[1].0, n)));
    assert!(share(by[2].0, n) > 0.08 && share(by[3].0, n) > 0.02);
    let telling: usize =
        all().iter().map(|s| (0..s.truth.lines.len()).filter(|&k| tells(s, k)).count()).sum();
    println!("{telling} lines with an end that tells");
    assert!(telling > 100);
}
