//! An invented network on a shipped standard, of which each test says what its versions state.
#![allow(dead_code, reason = "each test file uses its own part")]

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

/// A site of the network with one certified inverter, whose selected region stands for what is not stated.
pub fn site(settings: &str) -> String {
    format!(
        "kind: site
site: tried
network: wending
requirements: {{ region: australia-a }}
supply: {{ phases: 1, nominal: 230 V line-neutral }}
export: {{ kind: fixed, approved: 5 kW, reference: tried }}
devices:
  inverter-1:
    certified: {{ standard: as-nzs-4777.2, edition: {{ year: 2020, amendment: 2 }} }}
    source: solar
    nameplate: 5 kVA
    phases: 1
    as-left:
      role: licensed installer
      known-by: read
      region-selected: australia-a
      settings:
        {settings}
"
    )
}
