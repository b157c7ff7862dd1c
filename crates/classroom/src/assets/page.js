// Sends where the sliders stand and puts back what was rendered. Nothing is worked out here.
"use strict";
(() => {
  document.documentElement.classList.add("with-script");
  const byId = (id) => document.getElementById(id);
  const answers = byId("answers"), fault = byId("fault"), said = byId("said");
  const sliders = [...document.querySelectorAll("[data-slider]")].map((row) => ({
    name: row.dataset.slider,
    unit: row.dataset.unit,
    nominal: row.dataset.nominal,
    ruler: row.querySelector("input[type=range]"),
    field: row.querySelector("input[type=number]"),
  }));

  const query = () => {
    const asked = new URLSearchParams();
    for (const name of ["of", "with", "rated", "source", "nominal"]) {
      if (answers.dataset[name]) asked.set(name, answers.dataset[name]);
    }
    for (const { name, field } of sliders) asked.set(name, field.value);
    return asked;
  };

  const complain = (words) => {
    fault.textContent = words;
    fault.hidden = !words;
  };

  // one question at a time; while it is on its way only the newest position waits
  let busy = false, again = false, moved = 0;
  const ask = async () => {
    if (busy) {
      again = true;
      return;
    }
    busy = true;
    do {
      again = false;
      const since = moved;
      try {
        const answer = await fetch(`/at?${query()}`);
        const told = await answer.json();
        if (told.fault) {
          complain(told.fault);
        } else {
          complain("");
          show(told);
          answers.dataset.took = (performance.now() - since).toFixed(1);
        }
      } catch {
        complain("There is no answer: the program has ended. Start it again, and open the address that it prints.");
      }
    } while (again);
    busy = false;
    answers.dataset.at = query();
  };

  const show = ({ parts, said: words }) => {
    for (const [id, text] of Object.entries(parts)) {
      const place = byId(id);
      if (place && place.shown !== text) {
        place.innerHTML = text;
        place.shown = text;
      }
    }
    quiet(words);
  };

  // what is to be heard waits until the slider rests
  let resting = 0;
  const quiet = (words) => {
    clearTimeout(resting);
    resting = setTimeout(() => {
      said.textContent = words;
      history.replaceState(null, "", `/?${query()}`);
      for (const { name, field } of sliders) byId("playing").elements[name].value = field.value;
    }, 700);
  };

  const move = (slider, value, from) => {
    if (from !== slider.field) slider.field.value = value;
    if (from !== slider.ruler) slider.ruler.value = value;
    slider.ruler.setAttribute("aria-valuetext", `${value} ${slider.unit}`);
    moved = performance.now();
    ask();
  };

  for (const slider of sliders) {
    slider.ruler.addEventListener("input", () => move(slider, slider.ruler.value, slider.ruler));
    slider.field.addEventListener("input", () => {
      if (slider.field.value !== "") move(slider, slider.field.value, slider.field);
    });
    slider.field.addEventListener("keydown", (event) => {
      if (event.key === "Enter") event.preventDefault();
    });
    // a browser that comes back to the page remembers where its fields stood
    slider.ruler.value = slider.field.value;
  }

  byId("nominally")?.addEventListener("click", () => {
    for (const slider of sliders) move(slider, slider.nominal, null);
  });
  byId("print")?.addEventListener("click", () => print());

  const opened = byId("opened"), file = byId("file");
  file?.addEventListener("change", async () => {
    const chosen = file.files[0];
    if (!chosen) return;
    opened.textContent = "Reading…";
    try {
      const answer = await fetch(`/open?name=${encodeURIComponent(chosen.name)}`, { method: "POST", body: chosen });
      if (!(answer.headers.get("content-type") ?? "").startsWith("application/json")) throw new Error(await answer.text());
      const { choice, says, fault: words } = await answer.json();
      tell(choice, says ?? words);
    } catch (error) {
      opened.textContent = error instanceof TypeError ? "The file could not be sent; it may have changed, or the program has ended." : error.message;
    }
    file.value = "";
  });

  const tell = (choice, says) => {
    const lead = document.createElement("p");
    lead.append(choice ? "It can be shown. What `check` says of it:" : "It cannot be used. What is wrong with it:");
    const words = document.createElement("pre");
    words.className = "says";
    words.tabIndex = 0;
    words.textContent = says;
    opened.replaceChildren(lead, words);
    if (!choice) return;
    const asked = query();
    asked.set("of", choice);
    const links = document.createElement("p");
    links.append(link(`/?${asked}`, "Show it"));
    asked.set("of", answers.dataset.of);
    asked.set("with", choice);
    links.append(" ", link(`/?${asked}`, "Compare it with what is shown"));
    opened.append(links);
  };

  const link = (to, words) => {
    const made = document.createElement("a");
    made.href = to;
    made.textContent = words;
    return made;
  };
})();
