//! Keys alone, and those who hear the page read.

use crate::Open;
use crate::served::root;
use serde_json::{Value, json};

const TAB: char = '\u{e004}';
const ENTER: char = '\u{e007}';
const SPACE: char = ' ';
const RIGHT: char = '\u{e014}';
const LEFT: char = '\u{e012}';
const HOME: char = '\u{e011}';
const END: char = '\u{e010}';

/// What has the focus: its id or words, and whether a ring shows around it.
const FOCUSED: &str = "const at = document.activeElement;
    if (!at || at === document.body) return null;
    const style = getComputedStyle(at);
    return { id: at.id, words: (at.innerText || at.getAttribute('aria-label') || '').trim().slice(0, 60), tag: at.localName,
             ring: style.outlineStyle !== 'none' && parseFloat(style.outlineWidth) >= 2 };";

#[test]
#[ignore = "needs chromium and chromium-driver"]
fn keys_alone_are_enough() {
    let open = Open::with(&[]);
    let page = &open.browser;
    open.show(&[("of", "larkspur-row-3.yaml:inverter-1:as-left")]);
    let mut walked: Vec<String> = Vec::new();
    loop {
        page.press(&[TAB]);
        let at = page.run(FOCUSED, json!([]));
        if at.is_null() || walked.len() > 100 {
            break;
        }
        assert_eq!(at["ring"], true, "no ring around {at}");
        let id = at["id"].as_str().unwrap();
        walked.push(if id.is_empty() {
            format!("{}: {}", at["tag"].as_str().unwrap(), at["words"].as_str().unwrap())
        } else {
            id.to_owned()
        });
    }
    let place = |name: &str| walked.iter().position(|own| own == name).unwrap_or_else(|| panic!("{name} is not reached: {walked:?}"));
    assert_eq!(walked[0], "a: Skip to the answers");
    let order = [
        "of",
        "with",
        "rated",
        "nominal",
        "button: Show",
        "v-number",
        "v-slider",
        "f-number",
        "f-slider",
        "p-number",
        "p-slider",
        "nominally",
        "print",
    ];
    assert!(order.is_sorted_by_key(|name| place(name)), "{walked:?}");
    assert!(walked.len() <= 100 && walked.iter().any(|name| name.starts_with("summary: The same as a table")), "{walked:?}");

    // a slider by its arrows and ends
    let value = |id: &str| page.run("return document.getElementById(arguments[0]).value", json!([id])).as_str().unwrap().to_owned();
    page.run("document.getElementById('v-slider').focus()", json!([]));
    page.press(&[RIGHT, RIGHT, RIGHT, LEFT]);
    open.settled();
    assert_eq!((value("v-slider"), value("v-number")), ("231".to_owned(), "231".to_owned()));
    assert!(open.text("#a-answer .sentence").starts_with("At 231 V and 50 Hz"));
    page.press(&[END]);
    open.settled();
    assert_eq!(value("v-number"), page.run("return document.getElementById('v-slider').max", json!([])).as_str().unwrap());
    assert!(open.text("#a-stays").contains("by 0.2 s"), "{}", open.text("#a-stays"));
    page.run("document.getElementById('p-slider').focus()", json!([]));
    page.press(&[HOME]);
    open.settled();
    assert!(open.text("#a-answer .sentence").contains("with 0 W available"), "{}", open.text("#a-answer .sentence"));
    let spoken = page.run("return document.getElementById('v-slider').getAttribute('aria-valuetext')", json!([]));
    assert_eq!(spoken, format!("{} V", value("v-number")));

    // a typed number, in which Enter leaves the page where it is
    page.run("document.getElementById('f-number').select()", json!([]));
    page.press(&['5', '0', '.', '7', ENTER]);
    open.settled();
    assert!(open.text("#a-answer .sentence").contains("and 50.7 Hz"));
    // a word that is no number leaves everything as it was; one out of range is told
    open.move_to("v-number", "230");
    page.run(
        "const field = document.getElementById('v-number'); field.value = '5000'; field.dispatchEvent(new Event('input', { bubbles: true }));",
        json!([]),
    );
    page.wait("return !document.getElementById('fault').hidden", json!([]));
    assert!(open.text("#fault").contains("from 0 V to 2000 V"), "{}", open.text("#fault"));

    page.run("document.getElementById('nominally').focus()", json!([]));
    page.press(&[SPACE]);
    open.settled();
    page.wait("return document.getElementById('fault').hidden", json!([]));
    assert!(open.text("#a-answer .sentence").starts_with("At 230 V and 50 Hz, with 6 kW available"));

    // another choice, from the list, by its button
    page.run("document.getElementById('of').focus()", json!([]));
    page.run("document.getElementById('of').value = 'cooper-street-8.yaml:inverter-1:as-left'", json!([]));
    page.press(&[TAB, TAB, TAB, TAB, TAB, ENTER]);
    page.wait("return document.querySelector('#a-title')?.innerText.startsWith('cooper-street-8')", json!([]));
}

#[test]
#[ignore = "needs chromium and chromium-driver"]
fn a_screen_reader_finds_names_for_everything() {
    let open = Open::with(&[]);
    open.show(&[("of", "larkspur-row-3.yaml:inverter-1:as-left"), ("with", "ieee-1547/2018-amd1/b-iii")]);
    open.browser.run("document.querySelectorAll('details').forEach((one) => { one.open = true })", json!([]));
    let tree = open.browser.tool("Accessibility.getFullAXTree", json!({}));
    let nodes: Vec<&Value> = tree["nodes"].as_array().unwrap().iter().filter(|node| node["ignored"] != true).collect();
    let of_role = |role: &str| nodes.iter().filter(|node| node["role"]["value"] == role).copied().collect::<Vec<&Value>>();
    let name = |node: &Value| node["name"]["value"].as_str().unwrap_or_default().to_owned();
    for role in [
        "slider",
        "spinbutton",
        "combobox",
        "button",
        "link",
        "image",
        "img",
        "table",
        "heading",
        "columnheader",
        "rowheader",
        "DisclosureTriangle",
    ] {
        for node in of_role(role) {
            let is_table = role == "table"; // tables are named by the region that holds them
            assert!(is_table || !name(node).trim().is_empty(), "a {role} without a name: {node}");
        }
    }
    let names = |role: &str| of_role(role).into_iter().map(name).collect::<Vec<String>>();
    assert_eq!(names("slider").len(), 3);
    assert!(names("slider")[0].starts_with("Voltage"), "{:?}", names("slider"));
    assert_eq!(
        names("spinbutton"),
        ["Rating, for a standard", "Nominal voltage", "Voltage in V", "Frequency in Hz", "Available power in kW"]
    );
    assert_eq!(names("combobox"), ["Show", "Compare with", "Fed from", "Scenario"]);
    // each picture has a title and says the same in words
    let pictures = [of_role("image"), of_role("img")].concat();
    assert!(pictures.len() >= 10, "{}", pictures.len());
    for picture in &pictures {
        let says = picture["description"]["value"].as_str().unwrap_or_default();
        assert!(name(picture).len() > 10 && says.len() > 20, "{picture}");
    }
    // headings lead down without a gap
    let levels =
        open.browser.run("return [...document.querySelectorAll('h1,h2,h3,h4,h5,h6')].map((head) => Number(head.localName[1]))", json!([]));
    let levels: Vec<u64> = levels.as_array().unwrap().iter().map(|level| level.as_u64().unwrap()).collect();
    assert!(levels[0] == 1 && levels.windows(2).all(|pair| pair[1] <= pair[0] + 1), "{levels:?}");
    let ids = open.browser.run(
        "const ids = [...document.querySelectorAll('[id]')].map((one) => one.id); return ids.filter((id, n) => ids.indexOf(id) !== n)",
        json!([]),
    );
    assert_eq!(ids, json!([]), "ids that are there twice");
    open.nothing_amiss();
}

#[test]
#[ignore = "needs chromium and chromium-driver"]
fn what_is_heard_waits_until_the_slider_rests() {
    let open = Open::with(&[]);
    open.show(&[("of", "larkspur-row-3.yaml:inverter-1:as-left")]);
    open.browser.run(
        "window.heard = []; new MutationObserver(() => window.heard.push(document.getElementById('said').textContent))
             .observe(document.getElementById('said'), { childList: true, characterData: true, subtree: true });",
        json!([]),
    );
    for n in 0..40 {
        open.move_to("v-slider", &format!("{}", 230 + n));
    }
    open.browser.wait("return window.heard.length > 0", json!([]));
    std::thread::sleep(std::time::Duration::from_secs(1));
    let heard = open.browser.run("return window.heard", json!([]));
    let heard = heard.as_array().unwrap();
    assert!(heard.len() <= 3, "{heard:#?}");
    assert!(heard.last().unwrap().as_str().unwrap().starts_with("At 269 V and 50 Hz"), "{heard:#?}");
    assert_eq!(open.browser.run("return document.getElementById('said').getAttribute('aria-live')", json!([])), "polite");
}

#[test]
#[ignore = "needs chromium and chromium-driver"]
fn a_file_of_ones_own_is_opened_and_its_faults_are_told() {
    let open = Open::with(&[]);
    let page = &open.browser;
    let folder = tempfile::tempdir().unwrap();
    let faulty = folder.path().join("anvil-way-2.yaml");
    std::fs::write(&faulty, "kind: site\nsite: anvil-way-2\nrequirements: { standard: as-nzs-4777.2/2020-amd2, region: australia-x }\ndevices:\n  inverter-1:\n    nameplate: 5 kW\n").unwrap();
    open.show(&[]);
    page.run("document.querySelector('details.opening').open = true", json!([]));
    page.type_into(&page.find("#file"), &faulty.display().to_string());
    page.wait("return document.querySelector('#opened pre')", json!([]));
    let says = open.text("#opened");
    assert!(
        says.starts_with("It cannot be used.")
            && says.contains("anvil-way-2.yaml, line 6")
            && says.contains("5 kW")
            && says.contains("to do"),
        "{says}"
    );

    let sound = root().join("tests/sites/heron-court-11.yaml");
    page.type_into(&page.find("#file"), &sound.display().to_string());
    page.wait("return document.querySelector('#opened a')", json!([]));
    assert!(open.text("#opened").contains("DOES NOT COMPLY  heron-court-11"), "{}", open.text("#opened"));
    page.click(&page.find("#opened a"));
    page.wait("return document.querySelector('#a-title')?.innerText.startsWith('heron-court-11')", json!([]));
    assert!(open.text("#of optgroup[label='Opened here']").contains("heron-court-11"));
    open.nothing_amiss();
}

#[test]
#[ignore = "needs chromium and chromium-driver"]
fn without_a_script_it_still_answers() {
    let open = Open::with(&[]);
    let page = &open.browser;
    page.tool("Emulation.setScriptExecutionDisabled", json!({ "value": true }));
    page.go(&format!("http://127.0.0.1:{}/?of=larkspur-row-3.yaml:inverter-1:as-left", open.served.port));
    let field = page.find("#v-number");
    page.type_into(&field, "\u{e009}a");
    page.type_into(&field, &format!("256{ENTER}"));
    page.wait("return document.querySelector('#a-answer .sentence')?.textContent.startsWith('At 256')", json!([]));
    assert_eq!(open.text("#a-answer data[data-of=active]"), "3.943 kW");
    assert_eq!(page.run("return document.getElementById('v-slider').checkVisibility()", json!([])), false);
}
