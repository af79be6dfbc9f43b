/* Comfort only: the fields in percent work without it. The chosen photo is shown here in the
   browser. A tap sets a mark about it, a drag moves the mark, buttons size it; a thumb anywhere
   else scrolls the page. The answer comes without the page, and so the photo, being lost. */
"use strict";

(() => {
  const form = document.getElementById("photo-form");
  const say = document.getElementById("say");
  const input = document.getElementById("photo");
  if (!form || !say || !input) return;
  const SVG = "http://www.w3.org/2000/svg";
  const SIDES = ["left", "top", "right", "bottom"];
  const TAP_PX = 8;
  const SIDE = 16; /* of a fresh mark, percent of the picture's width */
  const bar = document.getElementById("stage-bar");
  const [redo, onward] = bar.querySelectorAll("button");
  const sizes = [...document.querySelectorAll("[data-size]")];
  const verb = form.querySelector("button.main").textContent;
  const stage = document.getElementById("stage");
  const frame = document.getElementById("stage-picture");
  const picture = frame.querySelector("img");
  const marks = document.getElementById("stage-marks");
  const now = document.getElementById("stage-now");
  const near = document.getElementById("stage-near");
  const NEAR = 3; /* times as large as in the picture */
  const places = [...form.querySelectorAll("[data-place]")].map(placeOf);
  const byNumber = [...form.querySelectorAll(".by-number")];
  for (const row of byNumber) row.open = Boolean(row.querySelector("[aria-invalid]"));
  let current = null;
  let corners = [];
  let cross = null;
  let drag = null;
  let link = "";

  function placeOf(part) {
    const name = part.dataset.place;
    const chart = part.classList.contains("chart");
    const ids = chart
      ? [1, 2, 3, 4].flatMap((n) => [`${name}_x${n}`, `${name}_y${n}`])
      : SIDES.map((side) => `${name}_${side}`);
    return { name, part, chart, label: part.dataset.label, inputs: ids.map((id) => document.getElementById(id)) };
  }

  const shown = (value) => String(Math.round(value * 10) / 10);
  const isEmpty = (place) => place.inputs.every((one) => !one.value.trim());
  const isOpen = (place) => {
    const more = place.part.closest("details");
    return !more || more.open;
  };

  /* Corners of a place in percent, or null where it is not whole. */
  function pointsOf(place) {
    const numbers = place.inputs.map((one) => parseFloat(one.value));
    if (numbers.some((v) => !(v >= 0 && v <= 100))) return null;
    if (place.chart) return [0, 2, 4, 6].map((i) => numbers.slice(i, i + 2));
    const [l, t, r, b] = numbers;
    return [[l, t], [r, t], [r, b], [l, b]];
  }

  function shape(points, className) {
    for (const kind of ["halo", "edge"]) {
      const one = document.createElementNS(SVG, "polygon");
      one.setAttribute("points", points.map((p) => p.join(",")).join(" "));
      one.setAttribute("class", kind);
      const group = document.createElementNS(SVG, "g");
      group.setAttribute("class", className);
      group.append(one);
      marks.append(group);
    }
  }

  function lines(data, kind) {
    const path = document.createElementNS(SVG, "path");
    path.setAttribute("d", data);
    path.setAttribute("class", kind);
    marks.append(path);
  }

  function draw(band) {
    marks.replaceChildren();
    for (const old of frame.querySelectorAll(".mark-name")) old.remove();
    for (const place of places) {
      const points = place === current && (band || corners.length) ? null : pointsOf(place);
      if (!points) continue;
      shape(points, place === current ? "now" : "");
      label(place.label, points);
    }
    const found = document.querySelector("[data-outline]:focus-within, [data-outline]:hover");
    if (found) outline(found);
    if (band) shape(band, "now");
    const open = corners.map((p) => `M${p[0] - 1.5} ${p[1]}h3M${p[0]} ${p[1] - 1.5}v3`).join("");
    if (open) [["halo"], ["edge"]].forEach(([kind]) => lines(open, kind));
    if (cross) {
      const data = `M${cross[0]} 0V100M0 ${cross[1]}H100`;
      lines(data, "halo");
      lines(data, "cross");
    }
  }

  function label(text, points) {
    const tag = document.createElement("span");
    tag.className = "mark-name";
    tag.textContent = text;
    const top = Math.min(...points.map((p) => p[1]));
    if (top < 8) tag.classList.add("inside");
    tag.style.left = `${Math.min(...points.map((p) => p[0]))}%`;
    tag.style.top = `${top}%`;
    frame.append(tag);
  }

  /* Where the patches lie that were proposed. */
  function outline(found) {
    for (const polygon of JSON.parse(found.dataset.outline)) {
      shape(polygon.map((p) => [100 * p[0], 100 * p[1]]), "found");
    }
  }

  function tell(words) {
    if (now.textContent !== words) now.textContent = words;
  }

  function instruct() {
    const marked = current && pointsOf(current);
    if (!current) {
      tell("All marked. Read it, or press Mark beside a place to mark it anew.");
    } else if (current.chart) {
      const patch = ["brown", "bluish green", "black", "white"][corners.length];
      tell(`Now the chart: tap the outer corner of its ${patch} corner patch.`);
    } else if (corners.length) {
      tell(`Now ${current.label}: set the opposite corner.`);
    } else if (marked) {
      tell(`${current.label}: drag it if it is off. Keep it inside, out of shine and shadow.`);
    } else {
      tell(`Tap ${current.label}.`);
    }
    lead();
    for (const one of sizes) one.hidden = !marked || current.chart;
  }

  /* What the wide button does next, and what comes after it. */
  function lead() {
    const marked = current && pointsOf(current);
    const after = places.find((place) => place !== current && wanted(place));
    onward.firstChild.data = !current || !after ? verb : marked ? "Next" : "Leave it out";
    onward.querySelector("small").textContent = after && current ? `then ${after.label.toLowerCase()}` : "";
  }

  function choose(place) {
    current = place;
    corners = [];
    for (const each of places) {
      each.part.classList.toggle("now", each === place);
      each.button.setAttribute("aria-pressed", String(each === place));
    }
    instruct();
    draw();
  }

  const left = new Set();
  const wanted = (place) => isOpen(place) && isEmpty(place) && !optional(place) && !left.has(place);

  function next() {
    choose(places.find(wanted) || null);
  }

  /* Later areas and references are marked when they are asked for. */
  function optional(place) {
    return place.part.matches("details:not(#from-photo) *, [data-optional]") || /^painted[2-9]$/.test(place.name);
  }

  function write(place, numbers) {
    place.inputs.forEach((one, i) => { one.value = shown(numbers[i]); });
    corners = [];
    left.delete(place);
    instruct();
    draw();
  }

  const numbersOf = (place) => place.inputs.map((one) => parseFloat(one.value));

  /* A square on the screen, whatever the picture's shape. */
  function about([x, y]) {
    const box = marks.getBoundingClientRect();
    const half = [SIDE / 2, (SIDE / 2) * (box.width / box.height)];
    write(current, [inside(x - half[0]), inside(y - half[1]), inside(x + half[0]), inside(y + half[1])]);
  }

  function sized(factor) {
    const [l, t, r, b] = numbersOf(current);
    const half = [((r - l) / 2) * factor, ((b - t) / 2) * factor];
    const mid = [(l + r) / 2, (t + b) / 2];
    if (half[0] < 0.5 || half[1] < 0.5) return;
    write(current, [inside(mid[0] - half[0]), inside(mid[1] - half[1]), inside(mid[0] + half[0]), inside(mid[1] + half[1])]);
  }

  function moved([l, t, r, b], dx, dy) {
    const x = Math.min(Math.max(dx, -l), 100 - r);
    const y = Math.min(Math.max(dy, -t), 100 - b);
    write(current, [l + x, t + y, r + x, b + y]);
  }

  function within(place, [x, y]) {
    const [l, t, r, b] = numbersOf(place);
    return x >= l && x <= r && y >= t && y <= b;
  }

  function corner(point) {
    if (!current) return;
    corners.push(point);
    if (current.chart && corners.length === 4) write(current, corners.flat());
    else if (!current.chart && corners.length === 2) rectangle(...corners);
    else {
      instruct();
      draw();
    }
  }

  function rectangle(one, other) {
    const [l, r] = [one[0], other[0]].sort((a, b) => a - b);
    const [t, b] = [one[1], other[1]].sort((a, b) => a - b);
    if (r - l < 0.2 || b - t < 0.2) {
      corners = [];
      instruct();
      draw();
      return;
    }
    write(current, [l, t, r, b]);
  }

  const inside = (v) => Math.min(100, Math.max(0, v));

  function at(event) {
    const box = marks.getBoundingClientRect();
    return [
      inside((100 * (event.clientX - box.left)) / box.width),
      inside((100 * (event.clientY - box.top)) / box.height),
    ];
  }

  /* What a thumb covers is shown larger in the top corner that it is not in. */
  function magnify(event) {
    near.hidden = !drag || event.pointerType === "mouse";
    if (near.hidden) return;
    const box = picture.getBoundingClientRect();
    const [x, y] = at(event);
    near.classList.toggle("right", x < 50);
    const half = near.clientWidth / 2;
    near.style.backgroundImage = `url("${link}")`;
    near.style.backgroundSize = `${NEAR * box.width}px ${NEAR * box.height}px`;
    near.style.backgroundPosition = [x * box.width, y * box.height]
      .map((v) => `${half - (NEAR * v) / 100}px`)
      .join(" ");
  }

  for (const kind of ["pointerdown", "pointermove", "pointerup", "pointercancel"]) {
    frame.addEventListener(kind, (event) => { if (event.isPrimary) magnify(event); });
  }
  marks.addEventListener("pointerdown", (event) => {
    if (!current || !event.isPrimary || event.button > 0) return;
    cross = null;
    const from = at(event);
    const held = !current.chart && pointsOf(current) && within(current, from);
    drag = { from, x: event.clientX, y: event.clientY, held: held ? numbersOf(current) : null };
    if (held || event.pointerType === "mouse") marks.setPointerCapture(event.pointerId);
  });
  marks.addEventListener("pointermove", (event) => {
    if (!drag || current.chart || !event.isPrimary) return;
    const [a, b] = [drag.from, at(event)];
    if (drag.held) moved(drag.held, b[0] - a[0], b[1] - a[1]);
    else if (event.pointerType === "mouse") draw([a, [b[0], a[1]], b, [a[0], b[1]]]);
  });
  marks.addEventListener("pointerup", (event) => {
    if (!drag || !event.isPrimary) return;
    const far = Math.hypot(event.clientX - drag.x, event.clientY - drag.y) > TAP_PX;
    const { from, held } = drag;
    drag = null;
    if (current.chart) corner(from);
    else if (far && !held) {
      corners = [];
      rectangle(from, at(event));
    } else if (!far && !held) about(from);
  });
  marks.addEventListener("pointercancel", () => {
    drag = null;
    draw();
  });

  marks.addEventListener("keydown", (event) => {
    const step = event.shiftKey ? 10 : 1;
    const moves = { ArrowLeft: [-step, 0], ArrowRight: [step, 0], ArrowUp: [0, -step], ArrowDown: [0, step] };
    if (moves[event.key]) {
      const [x, y] = cross || [50, 50];
      cross = [inside(x + moves[event.key][0]), inside(y + moves[event.key][1])];
      if (corners.length === 1 && current && !current.chart) {
        const a = corners[0];
        draw([a, [cross[0], a[1]], cross, [a[0], cross[1]]]);
      } else draw();
    } else if (event.key === " " || event.key === "Enter") {
      corner(cross || [50, 50]);
    } else if (event.key === "Escape") {
      cross = null;
      choose(current);
    } else return;
    event.preventDefault();
  });
  marks.addEventListener("blur", () => {
    cross = null;
    draw();
  });

  redo.addEventListener("click", () => {
    const place = current || [...places].reverse().find((one) => !isEmpty(one));
    if (!place) return;
    for (const one of place.inputs) one.value = "";
    left.delete(place);
    choose(place);
  });
  onward.addEventListener("click", () => {
    if (current && isEmpty(current)) left.add(current);
    const last = !current || !places.some((place) => place !== current && wanted(place));
    next();
    if (last) form.requestSubmit();
  });
  for (const one of sizes) one.addEventListener("click", () => sized(parseFloat(one.dataset.size)));

  for (const place of places) {
    const mark = document.createElement("button");
    mark.type = "button";
    mark.textContent = "Mark";
    mark.setAttribute("aria-label", `Mark ${place.label} on the photo`);
    mark.hidden = true;
    mark.addEventListener("click", () => {
      choose(place);
      stage.scrollIntoView({ block: "nearest" });
      marks.focus({ preventScroll: true });
    });
    const clear = document.createElement("button");
    clear.type = "button";
    clear.textContent = "Clear";
    clear.setAttribute("aria-label", `Clear ${place.label}`);
    clear.hidden = true;
    clear.addEventListener("click", () => {
      for (const one of place.inputs) one.value = "";
      choose(place);
    });
    place.button = mark;
    place.part.querySelector(".by-number").before(mark, clear);
    place.buttons = [mark, clear];
  }

  function chosen() {
    if (link) URL.revokeObjectURL(link);
    link = "";
    const file = input.files[0];
    stage.hidden = !file;
    document.body.classList.toggle("marking", Boolean(file));
    left.clear();
    for (const place of places) for (const button of place.buttons) button.hidden = !file;
    if (!file) return;
    link = URL.createObjectURL(file);
    frame.hidden = false;
    picture.src = link;
    forget();
    next();
  }
  input.addEventListener("change", chosen);
  picture.addEventListener("error", () => {
    if (!link) return;
    frame.hidden = true;
    for (const place of places) for (const button of place.buttons) button.hidden = true;
    for (const row of byNumber) row.open = true;
    tell("This browser cannot show that picture, but it may still be read: type the places in percent.");
  });
  picture.addEventListener("load", () => draw());

  /* Patches of an earlier photo are not drawn over a new one. */
  function forget() {
    for (const found of document.querySelectorAll("[data-outline]")) found.removeAttribute("data-outline");
  }

  form.addEventListener("input", (event) => {
    if (places.some((place) => place.inputs.includes(event.target))) draw();
    const hex = /^\s*#?([0-9a-f]{6}|[0-9a-f]{3})\s*$/i.exec(event.target.value);
    const square = "colour" in event.target.dataset && event.target.parentElement.querySelector("rect");
    if (square) square.setAttribute("fill", hex ? `#${hex[1]}` : "none");
  });

  form.addEventListener("change", (event) => {
    if (current && link && current.inputs.includes(event.target)) instruct();
  });

  function mark(found) {
    for (const place of form.querySelectorAll(".mend")) {
      place.hidden = true;
      place.textContent = "";
    }
    for (const one of form.querySelectorAll("[aria-invalid]")) one.removeAttribute("aria-invalid");
    for (const item of found.querySelectorAll("[data-for]")) {
      const id = item.dataset.for;
      const place = document.getElementById(`${id}-mend`);
      const part = document.getElementById(id);
      if (!place || !part) continue;
      const message = item.querySelector("span").textContent;
      place.textContent = place.textContent ? `${place.textContent} ${message}` : message;
      place.hidden = false;
      const within = part.matches("fieldset") ? part.querySelectorAll("input") : [part];
      for (const one of within) one.setAttribute("aria-invalid", "true");
      for (const more of [place.closest("details"), part.querySelector(".by-number")]) {
        if (more) more.open = true;
      }
    }
  }

  function fillSquares(page) {
    for (const one of form.querySelectorAll("[data-colour]")) {
      const same = page.getElementById(one.id);
      const [mine, its] = [one, same].map((each) => each && each.parentElement.querySelector("rect"));
      if (mine && its) mine.setAttribute("fill", its.getAttribute("fill"));
    }
  }

  /* Two marks the wrong way round; without script the service exchanges them. */
  function exchange(event) {
    event.preventDefault();
    const names = event.currentTarget.value.split(" ");
    const [one, other] = names.map((name) => places.find((place) => place.name === name));
    const numbers = [numbersOf(one), numbersOf(other)];
    write(one, numbers[1]);
    write(other, numbers[0]);
    form.requestSubmit();
  }

  /* In sight too, for whoever hears nothing. */
  function lost() {
    const answer = document.getElementById("answer");
    const [head, words] = ["h2", "p"].map((tag) => document.createElement(tag));
    head.textContent = say.textContent = "No answer: is the service still running?";
    words.textContent = "What you typed and marked is still here, and so is the photo. Read it again once the connection is back.";
    answer.removeAttribute("aria-busy");
    answer.replaceChildren(head, words);
    answer.scrollIntoView();
  }

  form.addEventListener("submit", async (event) => {
    event.preventDefault();
    const button = form.querySelector("button.main");
    if (button.disabled) return;
    button.disabled = onward.disabled = true;
    button.textContent = onward.firstChild.data = button.dataset.busy;
    onward.querySelector("small").textContent = "";
    say.textContent = button.dataset.busy;
    document.getElementById("answer").setAttribute("aria-busy", "true");
    try {
      const reply = await fetch(form.action, { method: "POST", body: new FormData(form) });
      if (!(reply.headers.get("Content-Type") || "").startsWith("text/html")) {
        throw new Error(`status ${reply.status}`);
      }
      const page = new DOMParser().parseFromString(await reply.text(), "text/html");
      const found = page.getElementById("answer");
      // The photo is still in the form here.
      for (const words of found.querySelectorAll(".lost")) words.remove();
      document.getElementById("answer").replaceWith(found);
      for (const patch of found.querySelectorAll("[data-outline]")) {
        for (const kind of ["focusin", "focusout", "pointerenter", "pointerleave"]) {
          patch.addEventListener(kind, () => requestAnimationFrame(() => draw()));
        }
      }
      const outlined = found.querySelector("#outlined");
      if (outlined) outlined.hidden = frame.hidden;
      mark(found);
      fillSquares(page);
      say.textContent = found.dataset.say;
      document.title = page.title;
      draw();
      const swap = found.querySelector("#swap");
      if (swap) swap.addEventListener("click", exchange);
      found.scrollIntoView();
      found.focus({ preventScroll: true });
    } catch {
      lost();
    } finally {
      button.disabled = onward.disabled = false;
      button.textContent = verb;
      lead();
    }
  });

  // A quick thumb chooses before a slow network has brought this script; a reload may keep a photo.
  if (input.files.length) chosen();
})();
