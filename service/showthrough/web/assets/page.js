/* Comfort only: the page works without it. Answers come anew while the form is filled in,
   rows are added and removed in place, and a typed hex colour shows at once. */
"use strict";

(() => {
  const LONGEST_LINK = 6000;
  const form = document.getElementById("job");
  const say = document.getElementById("say");
  if (!form || !say) return;
  let asked = null;
  // What is still empty is no fault before somebody asks for the answer.
  let told = form.querySelector("[aria-invalid]") !== null;

  const answer = () => document.getElementById("answer");

  function query(button) {
    const data = new FormData(form);
    // The text of a chosen file stands in its text field already.
    for (const input of form.querySelectorAll("input[type=file]")) data.delete(input.name);
    if (button && button.name) data.append(button.name, button.value);
    return new URLSearchParams(data).toString();
  }

  async function ask(path, words, post) {
    if (asked) asked.abort();
    const mine = new AbortController();
    asked = mine;
    answer().setAttribute("aria-busy", "true");
    const long = post || words.length > LONGEST_LINK;
    try {
      const reply = long
        ? await fetch(path, {
            method: "POST",
            body: words,
            headers: { "Content-Type": "application/x-www-form-urlencoded" },
            signal: mine.signal,
          })
        : await fetch(`${path}?${words}`, { signal: mine.signal });
      if (!(reply.headers.get("Content-Type") || "").startsWith("text/html")) {
        throw new Error(`status ${reply.status}`);
      }
      return new DOMParser().parseFromString(await reply.text(), "text/html");
    } catch (error) {
      if (error.name !== "AbortError") {
        answer().removeAttribute("aria-busy");
        say.textContent = "No answer: is the service still running?";
      }
      return null;
    }
  }

  function show(found) {
    const film = document.querySelector("input[name=film_shown]:checked");
    const open = openParts(answer());
    answer().replaceWith(found);
    reopen(open);
    const kept = film && document.getElementById(film.id);
    if (kept) kept.checked = true;
    if (say.textContent !== found.dataset.say) say.textContent = found.dataset.say;
    const title = form.elements.title.value.trim();
    document.title = [found.dataset.say, title, "Showthrough"].filter(Boolean).join(" · ");
    const example = document.getElementById("example");
    if (example) example.remove();
    for (const [address, , kept] of JSON.parse(found.dataset.nav)) {
      const away = document.querySelector(`nav a[data-page="${address}"]`);
      if (away && kept) away.setAttribute("href", kept);
    }
    const link = found.dataset.link;
    if (link.length <= LONGEST_LINK) history.replaceState(null, "", link);
  }

  function mark(found) {
    for (const place of form.querySelectorAll(".mend")) {
      place.hidden = true;
      place.textContent = "";
    }
    for (const input of form.querySelectorAll("[aria-invalid]")) {
      input.removeAttribute("aria-invalid");
    }
    for (const item of found.querySelectorAll("[data-for]")) {
      const id = item.dataset.for;
      const place = document.getElementById(`${id}-mend`);
      const input = document.getElementById(id);
      if (!place || !input) continue;
      const message = item.querySelector("span").textContent;
      place.textContent = place.textContent ? `${place.textContent} ${message}` : message;
      place.hidden = false;
      input.setAttribute("aria-invalid", "true");
      const part = place.closest("details");
      if (part) part.open = true;
    }
  }

  function fill(input, colour) {
    const square = input.parentElement.querySelector("rect");
    if (square) square.setAttribute("fill", colour || "none");
  }

  function fillAll(found) {
    const seen = JSON.parse(found.dataset.seen);
    for (const input of form.querySelectorAll("[data-colour]")) fill(input, seen[input.id]);
    for (const button of form.querySelectorAll("[name=topcoat_sample]")) {
      const chosen = button.value === form.elements.topcoat.value;
      if (chosen) button.setAttribute("aria-pressed", "true");
      else button.removeAttribute("aria-pressed");
    }
  }

  function openParts(within) {
    return [...within.querySelectorAll("details[open]")].map((part) => part.id).filter(Boolean);
  }

  function reopen(ids) {
    for (const id of ids) {
      const part = document.getElementById(id);
      if (part) part.open = true;
    }
  }

  async function refresh() {
    const words = query();
    const page = await ask(form.dataset.answer, told ? words : `${words}&filling=yes`);
    const found = page && page.getElementById("answer");
    if (!found) return;
    mark(found);
    fillAll(found);
    show(found);
  }

  async function press(button) {
    const page = await ask(form.getAttribute("action"), query(button), true);
    const [found, next] = page ? [page.getElementById("answer"), page.getElementById("job")] : [];
    if (!found || !next) return;
    const open = openParts(form);
    const place = button.closest("details, fieldset");
    const inAnswer = answer().contains(button);
    form.replaceChildren(...next.childNodes);
    reopen(open);
    if (inAnswer) {
      show(found);
      const again = [...found.querySelectorAll(`button[name=${button.name}]`)];
      (again.find((each) => each.value === button.value) || again[0] || found).focus();
      return;
    }
    const focus = next.dataset.focus && document.getElementById(next.dataset.focus);
    if (focus) focus.focus();
    else if (place && place.id && document.getElementById(place.id)) {
      document.getElementById(place.id).querySelector("summary, input, button").focus();
    } else form.querySelector("[name=add]").focus();
    show(found);
  }

  form.addEventListener("submit", (event) => {
    const button = event.submitter;
    // To another page, or a file to save: that is the browser's own business.
    if (button && button.hasAttribute("formaction")) return;
    event.preventDefault();
    if (button && button.name) press(button);
    else {
      told = true;
      refresh().then(() => answer().focus({ preventScroll: false }));
    }
  });

  async function takeFile(input) {
    const text = form.elements[input.dataset.into];
    const raw = new Uint8Array(await input.files[0].arrayBuffer());
    if (raw.includes(0)) text.value = "This file is no plain text: save the table as CSV.";
    else {
      try {
        text.value = new TextDecoder("utf-8", { fatal: true }).decode(raw);
      } catch {
        text.value = new TextDecoder("windows-1252").decode(raw);
      }
    }
    input.value = "";
  }

  form.addEventListener("change", async (event) => {
    const input = event.target;
    if (input.dataset.into && input.files.length) await takeFile(input);
    refresh();
  });

  form.addEventListener("input", (event) => {
    const input = event.target;
    if (!("colour" in input.dataset)) return;
    const hex = /^\s*#?([0-9a-f]{6}|[0-9a-f]{3})\s*$/i.exec(input.value);
    if (hex) fill(input, `#${hex[1]}`);
  });
})();
