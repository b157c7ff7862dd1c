//! Exercises: for every shipped standard and network, what is drawn is what is found, and what the key says mends it.

mod common;

use rules::assess::{Assessor, SiteVerdict};
use rules::exercise::drawing::{Drawn, Order, draw};
use rules::exercise::faults::FAULTS;
use rules::exercise::model::{MadeFor, models};
use rules::exercise::text::of_site;

use std::collections::BTreeMap;

/// Every region of every standard for inverters, and every version of every network there.
fn everything(assessor: &mut Assessor) -> Vec<(String, MadeFor)> {
    let mut all = Vec::new();
    for standard in assessor.library.standards() {
        let file = assessor.library.standard(&standard, &mut assessor.sources).unwrap();
        for (region, _) in file.file.regions.iter() {
            let of = MadeFor::Requirements { network: None, standard: standard.clone(), region: region.to_owned() };
            all.push((format!("{standard}/{region}"), of));
        }
    }
    for network in assessor.library.networks() {
        for version in assessor.library.versions(&network) {
            let standard = assessor.library.standard_below(&network, &version, &mut assessor.sources).unwrap();
            for region in assessor.library.regions_below(&network, &version, &mut assessor.sources).unwrap() {
                let name = format!("{network}/{version}/{region}");
                all.push((name, MadeFor::Requirements { network: Some((network.clone(), version.clone())), standard: standard.clone(), region }));
            }
        }
    }
    all
}

#[test]
fn look() {
    let mut assessor = Assessor::new(common::shipped_library(), jiff::civil::date(2026, 11, 25));
    let mut count: BTreeMap<&str, usize> = BTreeMap::new();
    for (name, of) in everything(&mut assessor) {
        let start = std::time::Instant::now();
        match models(&of, &mut assessor) {
            Err(says) => println!("{name}: {says}"),
            Ok(models) => {
                let made = start.elapsed();
                let start = std::time::Instant::now();
                let students = (1..=12).map(|n| format!("student-{n:02}")).collect();
                let order = Order { seed: 7, exercise: "x".to_owned(), students, fewest: 1, most: 3 };
                match draw(&models, &order, &mut assessor) {
                    Err(says) => println!("{name}: {says}"),
                    Ok(drawn) => {
                        for one in &drawn { for fault in &one.faults { *count.entry(fault.kind.name).or_default() += 1; } }
                        println!("{name}: {} models in {made:?}, drawn in {:?}", models.len(), start.elapsed());
                        if name == std::env::var("SHOW").unwrap_or_default() {
                            for one in &drawn { println!("{}\n{:#?}", of_site(&one.site), one.faults.iter().map(|f| (f.kind.name, f.touched.iter().map(|t| format!("{} {:?} {:?}", t.spot, t.found, t.right)).collect::<Vec<_>>())).collect::<Vec<_>>()); }
                        }
                    }
                }
            }
        }
    }
    for kind in FAULTS { println!("{:40} {}", kind.name, count.get(kind.name).copied().unwrap_or_default()); }
}
