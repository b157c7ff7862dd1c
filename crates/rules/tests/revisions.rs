//! Version steps: the shipped histories deserve the steps they took, and whoever a breaking change
//! strands complied before and does not after.

mod common;

use common::*;
use rules::revision::{Step, weighed};
use settings_model::catalogue::Equipment;
use settings_model::source::Sources;

#[test]
fn every_shipped_history_took_the_steps_it_deserved() {
    let (mut library, mut sources) = (shipped(), Sources::default());
    for network in library.networks() {
        for pair in library.versions(&network).windows(2) {
            let standard = library.standard_below(&network, &pair[0], &mut sources).unwrap();
            let regions: Vec<String> =
                library.standard(&standard, &mut sources).unwrap().file.regions.iter().map(|(key, _)| key.to_owned()).collect();
            let mut deserved = Step::Patch;
            for region in regions {
                let mut books = |version| library.rulebooks_of((&network, version), &region, &mut sources);
                let (Ok(old), Ok(new)) = (books(&pair[0]), books(&pair[1])) else { continue };
                for kind in Equipment::ALL {
                    for weighed in weighed(&old[kind as usize], &new[kind as usize], kind) {
                        println!(
                            "{network} {} {region} {} {:?} {} {}",
                            pair[1],
                            weighed.change.setting,
                            weighed.reason,
                            weighed.step.word(),
                            weighed.example.is_some()
                        );
                        deserved = deserved.max(weighed.step);
                    }
                }
            }
            println!("== {network} {} to {}: {}", pair[0], pair[1], deserved.word());
        }
    }
}
