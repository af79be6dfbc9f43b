/* Comfort only: every page works without it. Links and sheets open in place, an answer follows
   each change, and back closes what was opened. The address holds the job throughout. */
"use strict";

(() => {
  const SLOW_MS = 400;
  const LONGEST_LINK = 6000;
  const places = ["main", "header.top", "nav.nav", "#job"];
  const reader = new DOMParser();
  let asked = 0;
  let sending = "";
  let opener = "";
  let cancel = null;
  const address = () => location.pathname + location.search;
  let here = address();

  const say = (text) => {
    document.getElementById("say").textContent = text;
  };

  async function read(url, body) {
    const mine = ++asked;
    const slow = setTimeout(() => document.body.classList.add("busy"), SLOW_MS);
    try {
      const headers = { Accept: "text/html" };
      const options = body === undefined ? { headers } : { method: "POST", body, headers };
      const answer = await fetch(url, options);
      const html = (answer.headers.get("content-type") || "").includes("html");
      const text = html ? await answer.text() : "";
      return mine === asked && html ? { page: reader.parseFromString(text, "text/html"), url: answer.url } : null;
    } finally {
      clearTimeout(slow);
      if (mine === asked) document.body.classList.remove("busy");
    }
  }

  /* Rows and steps that stand open are in the address; what leads on and back keeps them so. */
  const inAddress = () => new Set((new URL(location.href).searchParams.get("open") || "").split(",").filter(Boolean));
  let opened = inAddress();
  const kept = "#rows > details[id], #plan details[id]";

  function noteOpened() {
    const shown = [...document.querySelectorAll(kept)].map((one) => one.id);
    if (!shown.length) return;
    const open = [...opened].filter((id) => shown.includes(id)).join(",");
    const bare = location.search.replace(/([?&])open=[^&]*(&|$)/, (_, before, after) => (after ? before : ""));
    const query = open ? `${bare}${bare ? "&" : "?"}open=${open}` : bare;
    if (query !== location.search) history.replaceState(history.state, "", location.pathname + query + location.hash);
    here = address();
  }

  document.addEventListener("toggle", (event) => {
    if (!event.target.matches(kept)) return;
    opened[event.target.open ? "add" : "delete"](event.target.id);
    noteOpened();
  }, true);

  function put(page) {
    const open = [...document.querySelectorAll(`details[open][id]:not(${kept})`)].map((one) => one.id);
    document.title = page.title;
    document.body.className = page.body.className;
    for (const place of places) {
      const now = document.querySelector(place);
      const next = page.querySelector(place);
      if (now && next) now.replaceWith(document.adoptNode(next));
      else if (now) now.remove();
      else if (next) document.body.append(document.adoptNode(next));
    }
    for (const id of [...open, ...opened]) {
      const row = document.getElementById(id);
      if (row) row.open = true;
    }
    const line = document.getElementById("headline") || document.querySelector("h1");
    say(line ? line.textContent : page.title);
  }

  function focusOn(id) {
    const one = id && document.getElementById(id);
    if (one) one.focus({ preventScroll: true });
    return Boolean(one);
  }

  /* Another page in place; a fault of the network is left to the browser to tell. */
  async function go(url, body, push = true) {
    // A second tap on what is under way asks for nothing more.
    const what = `${url} ${body || ""}`;
    if (what === sending) return;
    sending = what;
    let found = null;
    try {
      found = await read(url, body);
    } catch {
      location.assign(url);
      return;
    } finally {
      if (what === sending) sending = "";
    }
    if (!found) return;
    if (!push) opened = inAddress();
    if (push) history.pushState({ y: 0 }, "", body === undefined ? url : location.pathname);
    here = address();
    put(found.page);
    noteOpened();
    const place = document.getElementById(new URL(url, location.href).hash.slice(1));
    if (place) place.scrollIntoView();
    else scrollTo(0, 0);
    const sheet = document.getElementById("sheet");
    cancel = sheet ? sheet.querySelector("[data-cancel]").outerHTML : null;
    const word = !sheet && opener ? [...document.querySelectorAll(".w")].find((one) => one.textContent.trim() === opener || (one.getAttribute("href") || "").includes(`word=${opener}`)) : null;
    if (word) word.focus({ preventScroll: true });
    else document.getElementById("main").focus({ preventScroll: true });
  }

  /* A page with a photo has a policy and a script of its own: it is loaded whole, and left so. */
  const apart = Boolean(document.querySelector("script[src*='photo.js']"));
  const inPlace = ["/", "/colours", "/colours/every", "/sheet", "/jobs", "/jobs/open", "/jobs/one", "/half", "/photo"];
  const ours = (url) => !apart && url.origin === location.origin && inPlace.includes(url.pathname);

  document.addEventListener("click", (event) => {
    const link = event.target.closest("a[href]");
    if (!link || event.defaultPrevented || event.button || event.metaKey || event.ctrlKey || event.shiftKey || event.altKey) return;
    const url = new URL(link.href);
    if (!ours(url) || link.hasAttribute("download") || link.dataset.plain !== undefined || link.target) return;
    if (url.hash && url.pathname === location.pathname && url.search === location.search) return;
    event.preventDefault();
    const word = url.searchParams.get("word");
    if (word) opener = word;
    go(url.href);
  });

  document.addEventListener("submit", (event) => {
    const form = event.target;
    const by = event.submitter;
    const url = new URL((by && by.getAttribute("formaction")) || form.getAttribute("action"), location.href);
    const whole = form.enctype === "multipart/form-data" || form.dataset.plain !== undefined;
    if (by && by.hasAttribute("download")) return;
    if (whole || !ours(url)) {
      if (form.dataset.sent) event.preventDefault();
      else if (!event.defaultPrevented) form.dataset.sent = "yes";
      return;
    }
    event.preventDefault();
    const data = new URLSearchParams(said(form, by));
    if (form.method === "get" && data.toString().length <= LONGEST_LINK) {
      url.search = data.toString();
      go(url.href);
    } else go(url.href, data);
  });

  addEventListener("pageshow", () => {
    for (const form of document.querySelectorAll("form[data-sent]")) delete form.dataset.sent;
  });

  const texts = () => new Map([...document.querySelectorAll("#sheet input[type=text], #sheet textarea")].map((one) => [one.name, one.value]));

  function said(form, by) {
    const pairs = [...new FormData(form, by || undefined)];
    return pairs.filter(([name, value]) => value !== "" || name.startsWith("before."));
  }

  /* A button that is pressed must still be there when it is let go, or the press is lost. */
  const TAP_MS = 50;
  let release = () => {};
  let pressed = Promise.resolve();
  document.addEventListener("pointerdown", () => {
    release();
    pressed = new Promise((done) => { release = done; });
  }, true);
  for (const end of ["pointerup", "pointercancel"]) document.addEventListener(end, () => setTimeout(release, TAP_MS), true);

  /* The sheet with everything that follows from one change; the job is not changed yet. */
  async function follow(sheet) {
    const data = new URLSearchParams(said(sheet));
    data.set("word", sheet.dataset.word);
    const sent = texts();
    const long = sheet.method === "post" || data.toString().length > LONGEST_LINK;
    let found = null;
    try {
      found = await read(long ? "/" : `/?${data}`, long ? data : undefined);
    } catch {
      say("No answer from the service; what you chose is still here.");
      return;
    }
    const mine = asked;
    await pressed;
    if (!found || mine !== asked || !document.getElementById("sheet")) return;
    const held = document.activeElement && document.activeElement.id;
    const old = document.getElementById("answer");
    const typed = [...texts()].filter(([name, text]) => text !== sent.get(name));
    const caret = document.activeElement && document.activeElement.selectionStart;
    put(found.page);
    for (const [name, text] of typed) {
      const one = document.getElementById("sheet").elements[name];
      if (one) one.value = text;
    }
    const behind = document.querySelector(".two > .behind");
    if (old && behind && !behind.querySelector("#answer")) behind.append(old);
    if (cancel) for (const one of document.querySelectorAll("#sheet [data-cancel]")) {
      const was = reader.parseFromString(cancel, "text/html").body.firstElementChild;
      for (const name of ["href", "formaction"]) if (was.hasAttribute(name)) one.setAttribute(name, was.getAttribute(name));
    }
    if (focusOn(held) && typed.length && typeof caret === "number") document.activeElement.setSelectionRange(caret, caret);
  }

  document.addEventListener("change", (event) => {
    const sheet = event.target.closest("#sheet");
    if (!sheet) return;
    const place = event.target.name.replace(/\.sample$/, "");
    if (event.target.name.endsWith(".sample")) {
      const typed = sheet.elements[`${place}.colour`];
      if (typed) typed.value = sheet.elements[`before.${place}.colour`].value;
    } else if (event.target.name.endsWith(".colour")) {
      for (const one of sheet.querySelectorAll("input[name$='.sample']:checked")) one.checked = false;
    }
    follow(sheet);
  });

  document.addEventListener("keydown", (event) => {
    if (event.key !== "Escape") return;
    const link = document.querySelector("#sheet [data-cancel]");
    if (link) link.click();
  });

  addEventListener("popstate", () => {
    if (address() !== here) go(location.href, undefined, false);
  });
})();
