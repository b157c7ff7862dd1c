//! An invented network on a shipped standard, of which each test says what its versions state.

use rules::assess::{Assessor, Books};
use settings_model::library::Profile;

pub const STANDARD: &str = "as-nzs-4777.2/2020-amd2";

/// A version of the network, in Australia A.
pub fn network(version: u64, standard: &str, statements: &str, assessor: &mut Assessor) -> Books {
    let text = format!(
        "kind: overlay
network: wending
title: Wending Lines (invented)
version: {version}.0.0
issue: {{ name: Issue {version}, published: 202{version}-01-01 }}
extends: {{ standard: {standard} }}
in-force: [{{ applied: from 202{version}-02-01 }}]
sources:
  guide: {{ document: Wending connection guide, basis: invented }}
{statements}"
    );
    let path = format!("overlays/wending/{version}.0.0.yaml");
    assessor.library.add(Profile { name: path.clone(), path, text: text.into(), shipped: false });
    let version = semver::Version::new(version, 0, 0);
    Books::of(assessor.library.rulebooks_of(("wending", &version), "australia-a", &mut assessor.sources).unwrap())
}
