// A job's page: what is touched is shown, ticks are kept on this device, what is looked for is found.
// The content of <main> may be swapped at any time (`renewed`): listeners are on the document, and
// what a person did is done again on what has come.
(() => {
  "use strict";
  const all = (which, within = document) => [...within.querySelectorAll(which)];
  const one = (which, within = document) => within.querySelector(which);
  const calm = { preventScroll: true };

  // ------------------------------------------------------------------ kept on this device

  const kept = (() => {
    try {
      localStorage.setItem("bom", "kept");
      return localStorage;
    } catch {
      return null;
    }
  })();

  const facts = (field) => field.closest("[data-as]")?.dataset.as ?? "";

  const read = (name) => {
    try {
      const found = JSON.parse(kept.getItem(name));
      return Array.isArray(found) ? found : ["", ""];
    } catch {
      return ["", ""];
    }
  };

  const keep = (field) => {
    const value = field.type === "checkbox" ? (field.checked ? "yes" : "") : field.value;
    try {
      if (value) kept?.setItem(field.dataset.keep, JSON.stringify([value, facts(field)]));
      else kept?.removeItem(field.dataset.keep);
    } catch {
      all("[data-unkept]").forEach((told) => (told.hidden = false));
    }
  };

  // What was ticked of a wire that has changed since does not count: it is said instead.
  const restore = () => {
    for (const told of all("[data-was]")) told.remove();
    for (const field of kept ? all("[data-keep]") : []) {
      const [value, as] = read(field.dataset.keep);
      const holds = as === facts(field);
      if (field.type === "checkbox") field.checked = holds && value === "yes";
      else field.value = holds ? value : "";
      if (value && !holds) was(field.closest("li"), as, value);
    }
    count();
  };

  const was = (row, as, value) => {
    if (!row) return;
    const told = one("[data-was]", row) ?? document.createElement("span");
    told.className = told.dataset.was = "was";
    told.textContent ||= `changed since it was ticked: ${as}`;
    if (value !== "yes") told.textContent += `; ${value} was written`;
    row.append(told);
  };

  const count = () => {
    for (const told of all("[data-count]")) {
      const boxes = all("input[type=checkbox]", told.closest("[data-ticks]"));
      const done = boxes.filter((box) => box.checked).length;
      const says = `${done} of ${boxes.length} ${told.dataset.count}`;
      if (told.textContent !== says) told.textContent = says;
    }
    for (const group of all("[data-group]"))
      group.classList.toggle("done", all("input", group).every((box) => box.checked));
  };

  const clear = (section) => {
    for (const field of all("[data-keep]", section)) {
      if (field.type === "checkbox") field.checked = false;
      else field.value = "";
      keep(field);
    }
    count();
  };

  // ------------------------------------------------------------------ what was touched

  const came = []; // what was touched to come here, so that `back` goes there
  let shown = null; // the name of what is shown: ids may be others once the page is renewed
  let touched = false;

  const article = () => {
    const id = location.hash.slice(1);
    const found = id && document.getElementById(id);
    return found && found.matches("article.shown") ? found : null;
  };

  const mark = (ids) => {
    for (const part of all("[data-part]")) part.classList.toggle("marked", ids.includes(part.dataset.part));
    const first = one("[data-drawing] .marked");
    if (first) intoView(first.getBoundingClientRect());
  };

  const show = () => {
    const found = article();
    for (const each of all("article.shown")) each.classList.toggle("is-shown", each === found);
    for (const hint of all("[data-hint]")) hint.hidden = Boolean(found);
    for (const button of all("[data-back]")) button.hidden = !found;
    mark(found ? found.dataset.marks.split(" ") : []);
    const told = one("[data-told]");
    if (told && found?.dataset.name !== shown) told.textContent = found ? `${found.dataset.name} is shown` : "";
    shown = found?.dataset.name ?? null;
    return found;
  };

  const moved = () => {
    const found = show();
    if (touched && found) {
      one("#loom").scrollIntoView({ block: "start" });
      one("h3", found).focus(calm);
    } else if (!touched && came.length) {
      came.pop()?.focus(calm);
    }
    touched = false;
  };

  const go = (id, from) => {
    if (location.hash === `#${id}`) {
      one("h3", article() ?? document)?.focus(calm);
      return;
    }
    came.push(from);
    touched = true;
    location.hash = id;
  };

  // ------------------------------------------------------------------ larger and smaller

  const MOST = 32;
  const READ = 17; // px: of letters that can be read at arm's length
  let zoom = 1;

  const enlarge = (to, x, y) => {
    const frame = one("[data-frame]");
    const drawing = one("[data-drawing]");
    if (!frame || !drawing) return;
    const at = frame.getBoundingClientRect();
    const [right, down] = [x ?? at.left + at.width / 2, y ?? at.top + at.height / 2];
    const before = drawing.getBoundingClientRect();
    const [across, along] = [(right - before.left) / before.width, (down - before.top) / before.height];
    drawing.style.maxWidth = drawing.style.width = "";
    zoom = Math.min(MOST, Math.max(1, to));
    if (zoom > 1) {
      const width = drawing.getBoundingClientRect().width * zoom;
      drawing.style.maxWidth = "none";
      drawing.style.width = `${width}px`;
    }
    const after = drawing.getBoundingClientRect();
    frame.scrollLeft += after.left + across * after.width - right;
    frame.scrollTop += after.top + along * after.height - down;
    for (const button of all("[data-zoom]"))
      button.disabled = Number(button.dataset.zoom) > 1 ? zoom >= MOST : zoom <= 1;
  };

  // one step from the whole is enough to read by
  const larger = (by) => {
    const letters = one("[data-drawing] text")?.getBoundingClientRect().height ?? READ;
    enlarge(zoom === 1 && by > 1 ? Math.max(by, READ / letters) : zoom * by);
  };

  const intoView = (room) => {
    const frame = one("[data-frame]");
    const seen = frame.getBoundingClientRect();
    const beside = room.right < seen.left || room.left > seen.right;
    if (beside || room.bottom < seen.top || room.top > seen.bottom) {
      frame.scrollLeft += (room.left + room.right - seen.left - seen.right) / 2;
      frame.scrollTop += (room.top + room.bottom - seen.top - seen.bottom) / 2;
    }
  };

  const between = ([a, b]) => Math.hypot(a.clientX - b.clientX, a.clientY - b.clientY);

  const pinched = (start) => {
    const [apart, from] = [between(start.touches), zoom];
    const pinch = (event) => {
      if (event.touches.length !== 2) return;
      event.preventDefault();
      const [a, b] = event.touches;
      enlarge((from * between(event.touches)) / apart, (a.clientX + b.clientX) / 2, (a.clientY + b.clientY) / 2);
    };
    const done = () => {
      document.removeEventListener("touchmove", pinch);
      document.removeEventListener("touchend", done);
      document.removeEventListener("touchcancel", done);
    };
    document.addEventListener("touchmove", pinch, { passive: false });
    document.addEventListener("touchend", done);
    document.addEventListener("touchcancel", done);
  };

  // ------------------------------------------------------------------ finding

  let wanted = "";

  const find = () => {
    const words = wanted.toLowerCase().split(/[\s:]+/).filter(Boolean);
    const fits = (word) => (own) => (/\d/.test(word) ? own === word : own.startsWith(word));
    const wires = all("[data-find]");
    const found = wires.filter((wire) => {
      const own = wire.dataset.find.split(/\s+/);
      return words.every((word) => own.some(fits(word)));
    });
    const ids = new Set(found.map((wire) => wire.dataset.of));
    const parts = new Set(found.flatMap((wire) => wire.dataset.marks.split(" ")));
    for (const row of all("[data-of]")) row.hidden = words.length > 0 && !ids.has(row.dataset.of);
    for (const group of all("[data-group]")) group.hidden = all("[data-of]", group).every((row) => row.hidden);
    for (const part of all("[data-part]"))
      part.classList.toggle("dim", words.length > 0 && !parts.has(part.dataset.part));
    for (const button of all("[data-find-clear]")) button.hidden = !words.length;
    const says = words.length ? `${found.length} of ${wires.length} ${wires.length === 1 ? "wire" : "wires"}` : "";
    for (const told of all("[data-found]")) {
      told.hidden = !says;
      if (told.textContent !== says) told.textContent = says;
    }
  };

  const look = (text) => {
    wanted = text;
    for (const field of all("[data-find-field]")) if (field.value !== text) field.value = text;
    find();
  };

  // ------------------------------------------------------------------ what a hand does

  document.addEventListener("change", (event) => {
    if (!event.target.matches("[data-keep]")) return;
    keep(event.target);
    count();
  });

  document.addEventListener("input", (event) => {
    if (event.target.matches("[data-find-field]")) look(event.target.value);
    else if (event.target.matches("input:not([type=checkbox])[data-keep]")) keep(event.target);
  });

  document.addEventListener("click", (event) => {
    const on = (which) => event.target.closest(which);
    const link = on("a.touch");
    const part = on("[data-show]");
    const asking = on(".clearing");
    if (link || part) {
      event.preventDefault();
      go(link ? link.hash.slice(1) : part.dataset.show, link ?? part);
    } else if (on("[data-back]")) {
      if (came.length) history.back();
      else location.hash = "loom";
    } else if (on("[data-zoom]")) {
      larger(Number(on("[data-zoom]").dataset.zoom));
    } else if (on("[data-find-clear]")) {
      look("");
      one("[data-find-field]").focus();
    } else if (asking) {
      const sure = on("[data-clear]") !== null;
      if (on("[data-clear-sure]")) clear(asking.closest("[data-ticks]"));
      one("[data-sure]", asking).hidden = !sure;
      one("[data-clear]", asking).hidden = sure;
      one(sure ? "[data-clear-not]" : "[data-clear]", asking).focus();
    }
  });

  document.addEventListener("keydown", (event) => {
    const part = event.target.closest("[data-show]");
    if (part && (event.key === "Enter" || event.key === " ")) {
      event.preventDefault();
      go(part.dataset.show, part);
    } else if (event.key === "Escape" && event.target.matches("[data-find-field]")) {
      event.preventDefault();
      look("");
    } else if (event.key === "Escape" && !event.target.matches("input") && came.length) {
      history.back();
    }
  });

  document.addEventListener("touchstart", (event) => {
    if (event.touches.length === 2 && event.target.closest("[data-frame]")) pinched(event);
  }, { passive: true });

  // ------------------------------------------------------------------ at the start, and again

  const again = () => {
    document.documentElement.classList.add("scripted");
    all("[data-tools]").forEach((tool) => (tool.hidden = false));
    if (!kept) all("[data-unkept]").forEach((told) => (told.hidden = false));
    restore();
    if (shown) {
      const same = all("article.shown").find((each) => each.dataset.name === shown);
      if (same && same.id !== location.hash.slice(1)) history.replaceState(null, "", `#${same.id}`);
    }
    show();
    enlarge(zoom);
    look(wanted);
  };

  addEventListener("hashchange", moved);
  addEventListener("storage", restore);
  document.addEventListener("renewed", again);
  if (document.readyState === "loading") document.addEventListener("DOMContentLoaded", again);
  else again();
})();
