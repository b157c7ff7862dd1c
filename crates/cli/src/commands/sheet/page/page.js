"use strict";
// The page is a form where scripts run: what is filled in is kept on this device, and saved as the table that
// `check --filled` reads.
(() => {
  const COLUMNS = ["as found", "as left", "photo", "initials"];
  const { site, training } = document.body.dataset;
  const rows = [...document.querySelectorAll("tr[data-setting]")];
  const fields = [...document.querySelectorAll("[data-column]")];
  const kept = `asleft sheet ${site}`;
  const nameOf = (field) => field.getAttribute("aria-label");

  // text that a spreadsheet would work out is marked as text, as the program's own tables have it
  const isAmount = (text) => /^[0-9][\p{L}\p{N} .,%°]*$/u.test(text);
  const isFormula = (text) => {
    const bare = text.replace(/^'+/, "");
    if (/^[=@\t\r\n＝＠＋－]/.test(bare)) return true;
    return /^[+-]./s.test(bare) && !isAmount(bare.slice(1));
  };
  const cell = (text) => {
    const safe = isFormula(text) ? `'${text}` : text;
    return /[",\r\n]/.test(safe) ? `"${safe.replaceAll('"', '""')}"` : safe;
  };
  const table = () => {
    const mark = training ? [["training"], [training]] : [[], []];
    const head = [...mark[0], "site", "device", "setting", "required", "unit", ...COLUMNS];
    const body = rows.map((row) => {
      const { device, setting, required, unit } = row.dataset;
      const filled = COLUMNS.map((column) => (row.querySelector(`[data-column="${column}"]`)?.value ?? "").trim());
      return [...mark[1], site, device, setting, required, unit, ...filled];
    });
    return [head, ...body].map((row) => `${row.map(cell).join(",")}\r\n`).join("");
  };

  // a page that is closed by mistake loses nothing
  const keep = () => {
    const filled = fields.filter((field) => field.value !== "").map((field) => [nameOf(field), field.value]);
    try { localStorage.setItem(kept, JSON.stringify(filled)); } catch { /* some browsers keep nothing for a file */ }
  };
  try {
    const filled = new Map(JSON.parse(localStorage.getItem(kept) ?? "[]"));
    fields.forEach((field) => { field.value = filled.get(nameOf(field)) ?? ""; });
  } catch { /* nothing was kept */ }
  document.addEventListener("input", keep);

  document.querySelector(".saving").hidden = false;
  document.getElementById("save").addEventListener("click", () => {
    const file = document.createElement("a");
    file.href = URL.createObjectURL(new Blob([table()], { type: "text/csv" }));
    file.download = `${site}.csv`;
    file.click();
    const count = fields.filter((field) => field.dataset.column === "as left" && field.value.trim() !== "").length;
    document.getElementById("saved").textContent =
      `Saved as ${file.download}: ${count} of ${rows.length} rows have a value as left. Check it with: asleft check SITE --filled ${file.download}`;
  });
})();
