// A page of the desk keeps up with the books: where one was saved its content is fetched anew and
// put in place of the old, with the focus and what was opened as they were.
"use strict";
(() => {
  const EVERY_MS = 400;
  const main = () => document.getElementById("main");
  const closed = document.getElementById("closed");
  let edition = document.body.dataset.edition;

  // What somebody is typing is not taken from under their hands.
  const inputs = () => [...main().querySelectorAll("form[method=post] input:not([type=hidden])")];
  const isTyping = () =>
    inputs().some((i) => i === document.activeElement || i.value !== i.defaultValue);

  const openNow = () => [...main().querySelectorAll("details[open][id]")].map((d) => d.id);

  // The field or button at which somebody is, known by its id or by what it keeps.
  const same = (was) =>
    (was.id && document.getElementById(was.id)) ||
    [...main().querySelectorAll("[data-keep]")].find((each) => was.dataset.keep === each.dataset.keep);

  // A field of the test sheet in which somebody writes, and whether a page still has it.
  const isWriting = () => document.activeElement.matches("input:not([type=checkbox])[data-keep]");
  const stays = (page) =>
    [...page.querySelectorAll("[data-keep]")].some((each) => each.dataset.keep === document.activeElement.dataset.keep);
  const facts = (field) => field.closest("[data-as]")?.dataset.as;

  function put(fresh) {
    const open = openNow();
    const at = document.activeElement;
    const within = main().contains(at);
    main().replaceChildren(...document.adoptNode(fresh).childNodes);
    for (const id of open) {
      const details = document.getElementById(id);
      if (details) details.open = true;
    }
    document.dispatchEvent(new Event("renewed"));
    const there = within && same(at);
    if (!there) return;
    there.focus({ preventScroll: true });
    if (!at.matches("input:not([type=checkbox])") || facts(at) !== facts(there)) return;
    there.value = at.value;
    if (at.selectionStart !== null) there.setSelectionRange(at.selectionStart, at.selectionEnd);
  }

  async function renew() {
    const answer = await fetch(location.href, { cache: "no-store" });
    if (!answer.ok && answer.status !== 404) return;
    const page = new DOMParser().parseFromString(await answer.text(), "text/html");
    const fresh = page.getElementById("main");
    if (!fresh || isTyping() || (isWriting() && !stays(fresh))) return;
    put(fresh);
    edition = page.body.dataset.edition;
    document.title = page.title;
    document.getElementById("news").textContent = `up to date as of ${new Date().toLocaleTimeString()}`;
  }

  async function look() {
    try {
      const answer = await fetch("/news", { cache: "no-store" });
      if (answer.redirected || answer.status === 403) location.reload(); // sent away
      closed.hidden = answer.ok;
      if (answer.ok && (await answer.text()) !== edition && !isTyping()) await renew();
    } catch {
      closed.hidden = false;
    }
  }

  // The browser's own page of a desk that does not answer would take what was typed with it.
  document.addEventListener("submit", (event) => {
    if (!closed.hidden) event.preventDefault();
  });

  let looking = false;
  setInterval(async () => {
    if (looking || document.hidden) return;
    looking = true;
    await look();
    looking = false;
  }, EVERY_MS);
})();
