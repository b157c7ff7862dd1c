//! What the data cannot decide of a device.

use super::sentences::lasting;
use super::told::{Scene, seconds};
use replay::acting::Equipment;
use response::timeline::{Micros, Player, Stage, Watched};

/// What the data cannot decide of a device, a sentence each.
pub fn undecided(equipment: &Equipment, player: &Player<'_>, scene: &Scene) -> Vec<String> {
    let mut undecided = Vec::new();
    let step = lasting(seconds(scene.spacing));
    if scene.is_made {
        return untold(player).into_iter().collect();
    }
    match equipment.phases_not_measured {
        0 => {}
        1 => undecided.push("1 of the phases that it looks at is not in the log: what trips by that one does not show".to_owned()),
        n => undecided.push(format!("{n} of the phases that it looks at are not in the log: what trips by one of them does not show")),
    }
    let momentary = || equipment.protection.stages.iter().filter(|stage| !matches!(stage.watched, Watched::MeanOfAnyPhase(_)));
    let named = |stages: Vec<&Stage>| stages.iter().map(|stage| equipment.title_of(stage)).collect::<Vec<_>>().join("; ");
    if scene.are_means {
        let coarse: Vec<&Stage> = momentary().filter(|stage| stage.least < 2 * scene.spacing).collect();
        if !coarse.is_empty() {
            let says = "a mean past a threshold proves that it was passed, not for how long; one within it proves nothing";
            undecided.push(format!("Each value is a mean over {step}. {}: {says}", named(coarse)));
        }
    } else {
        let (unproven, unseen): (Vec<&Stage>, Vec<&Stage>) =
            momentary().filter(|stage| stage.least < scene.spacing).partition(|stage| stage.most < scene.spacing);
        if !unproven.is_empty() {
            let says = "an excursion between two rows does not show, and one that shows does not prove that it lasted";
            undecided.push(format!("Rows are {step} apart. {}: {says}", named(unproven)));
        }
        if !unseen.is_empty() {
            undecided.push(format!("Rows are {step} apart. {}: an excursion between two rows does not show", named(unseen)));
        }
    }
    for (n, stage) in equipment.protection.stages.iter().enumerate() {
        if let Watched::MeanOfAnyPhase(window) = stage.watched {
            undecided.extend(mean(n, stage, &equipment.title_of(stage), window, player, scene));
        }
    }
    undecided.extend(untold(player));
    undecided
}

fn untold(player: &Player<'_>) -> Option<String> {
    let says = |untold| format!("{untold} further changes of state are counted in times and energies and not told one by one");
    Some(player.untold()).filter(|untold| *untold > 0).map(says)
}

fn mean(n: usize, stage: &Stage, title: &str, window: Micros, player: &Player<'_>, scene: &Scene) -> Vec<String> {
    let mut undecided = Vec::new();
    let window = lasting(seconds(window));
    if !scene.has_history {
        undecided.push(format!("{title}: the first {window} of the log, and after each gap; `--history 240V` says what was before"));
    }
    if let Some(highest) = player.highest_mean(n).filter(|highest| scene.are_means && *highest <= stage.threshold) {
        undecided.push(format!(
            "{}: the highest average at the log's own marks is {highest:.1} V, {:.1} V below {} V; the device's window slides, and may have passed it between",
            title,
            stage.threshold - highest,
            stage.threshold,
        ));
    }
    if !scene.prove_means {
        let step = lasting(seconds(scene.spacing));
        let why = match scene.are_means {
            true => format!("means over {step} do not add up to one over {window}"),
            false => format!("values {step} apart are too far from one another to prove an average"),
        };
        undecided.push(format!("{title}: {why}"));
    }
    undecided
}
