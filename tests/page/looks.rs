//! How it looks: nothing wider than the screen, letters that stand out from their ground, on screens and on paper.

use crate::Open;
use serde_json::json;
use std::path::PathBuf;

/// Every letter on the page against what lies behind it: the words whose contrast is below that of WCAG 2.2, 1.4.3
/// (4.5, or 3 for large letters), by its formula.
const FAINT: &str = r"
const part = (c) => { c /= 255; return c <= 0.04045 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4; };
const light = ([r, g, b]) => 0.2126 * part(r) + 0.7152 * part(g) + 0.0722 * part(b);
const colour = (text) => { const n = text.match(/[\d.]+/g).map(Number); return { rgb: n.slice(0, 3), a: n.length > 3 ? n[3] : 1 }; };
const behind = (at) => { for (; at; at = at.parentElement) { const c = colour(getComputedStyle(at).backgroundColor); if (c.a === 1) return c.rgb; } return [255, 255, 255]; };
const faint = [];
const walk = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
for (let node; (node = walk.nextNode());) {
  const at = node.parentElement;
  if (!node.textContent.trim() || !at.checkVisibility() || ['title', 'desc', 'option', 'script'].includes(at.localName)) continue;
  const style = getComputedStyle(at), svg = at.closest('svg');
  const ink = colour(svg ? style.fill : style.color).rgb;
  const ground = svg ? colour(getComputedStyle(svg.querySelector('.paper')).fill).rgb : behind(at);
  const [dark, bright] = [light(ink), light(ground)].sort((a, b) => a - b);
  const ratio = (bright + 0.05) / (dark + 0.05);
  const size = parseFloat(style.fontSize), large = size >= 24 || (size >= 18.66 && Number(style.fontWeight) >= 700);
  if (ratio < (large ? 3 : 4.5)) faint.push(`${ratio.toFixed(2)}: ${node.textContent.trim().slice(0, 40)}`);
}
return faint;";

fn folder() -> PathBuf {
    let folder = std::env::temp_dir().join("asleft-page");
    std::fs::create_dir_all(&folder).unwrap();
    folder
}

#[test]
#[ignore = "needs chromium and chromium-driver"]
fn it_fits_every_screen_and_every_letter_stands_out() {
    let open = Open::with(&[]);
    let page = &open.browser;
    let folder = folder();
    let one = [("of", "larkspur-row-3.yaml:inverter-1:as-left"), ("v", "256")];
    let two = [("of", "kiln-row-19.yaml:inverter-1:as-left"), ("with", "kiln-row-19.yaml:inverter-1:as-found"), ("v", "268")];
    let standard = [("of", "ieee-1547/2018-amd1/b-iii"), ("with", "as-nzs-4777.2/2020-amd2/new-zealand"), ("f", "61.5")];
    let lesson = [("of", "as-nzs-4777.2/2020-amd2/australia-a"), ("play", "175-v-for-10.5-s")];
    for (screen, width, height, is_phone) in [
        ("small", 320, 568, true),
        ("phone", 360, 740, true),
        ("tablet", 820, 1180, true),
        ("laptop", 1366, 768, false),
        ("projector", 1920, 1080, false),
        ("wall", 3840, 2160, false),
    ] {
        page.screen(width, height, is_phone);
        for (shown, query) in [("one", &one[..]), ("two", &two), ("standards", &standard), ("lesson", &lesson)] {
            open.show(query);
            page.run("document.querySelectorAll('details').forEach((one) => { one.open = true })", json!([]));
            let wide = page.run("return [document.documentElement.scrollWidth, innerWidth]", json!([]));
            assert!(wide[0].as_u64() <= wide[1].as_u64(), "{screen}, {shown}: {wide}");
            // letters in pictures, at the size that they come to
            let least = page.run(
                "return Math.min(...[...document.querySelectorAll('svg.figure text')].map((text) => text.getBoundingClientRect().height))",
                json!([]),
            );
            assert!(least.as_f64().unwrap() >= 10.0, "{screen}, {shown}: letters {least} pixels high");
            page.run("document.querySelectorAll('details').forEach((one) => { one.open = false })", json!([]));
            page.save_picture(&folder.join(format!("{screen}-{shown}.png")), false);
            page.save_picture(&folder.join(format!("{screen}-{shown}-whole.png")), true);
        }
    }
    page.screen(1366, 768, false);
    for scheme in ["light", "dark"] {
        page.tool("Emulation.setEmulatedMedia", json!({ "features": [{ "name": "prefers-color-scheme", "value": scheme }] }));
        open.show(&two);
        page.run("document.querySelectorAll('details').forEach((one) => { one.open = true })", json!([]));
        assert_eq!(page.run(FAINT, json!([])), json!([]), "{scheme}");
        page.run("document.querySelectorAll('details').forEach((one) => { one.open = false })", json!([]));
        page.save_picture(&folder.join(format!("{scheme}.png")), true);
    }
    page.tool("Emulation.setEmulatedMedia", json!({ "features": [] }));
    for (paper, size) in [("a4", [8.27, 11.69]), ("letter", [8.5, 11.0])] {
        for (shown, query) in [("one", &one[..]), ("two", &two), ("lesson", &lesson)] {
            open.show(query);
            let printed = page.save_print(&folder.join(format!("{paper}-{shown}.pdf")), size);
            assert!(printed.starts_with(b"%PDF-") && printed.len() > 20_000, "{paper}, {shown}: {} bytes", printed.len());
        }
    }
    println!("pictures in {}", folder.display());
    open.nothing_amiss();
}
