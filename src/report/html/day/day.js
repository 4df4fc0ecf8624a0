"use strict";
(() => {
  const $ = id => document.getElementById(id), data = JSON.parse($("data").textContent), at = data.places;
  // Columns are differences between neighbouring minutes in whole steps; "n" is no value, "3*20" twenty threes.
  const unpack = ([steps, text]) => {
    const out = [];
    let last = 0;
    for (const word of text.split(" ")) {
      const [difference, times] = word.split("*");
      for (let i = times === undefined ? 1 : +times; i > 0; i--) out.push(difference === "n" ? null : (last += +difference) / steps);
    }
    return out;
  };
  const days = data.days.map(d => ({ ...d, c: Object.fromEntries(Object.entries(d.columns).map(([k, v]) => [k, unpack(v)])) }));
  if (!days.length) return;
  const time = $("time"), play = $("play"), calm = matchMedia("(prefers-reduced-motion: reduce)");
  let day = days[0], which = 0, minute = 0, timer = 0;

  const set = (id, attributes) => { const e = $(id); if (e) for (const [k, v] of Object.entries(attributes)) e.setAttribute(k, v); };
  const clamp = (x, lo, hi) => Math.max(lo, Math.min(hi, x));
  const mix = (a, b, share) => a.map((v, i) => v + (b[i] - v) * share);
  const rgb = c => `rgb(${c.map(Math.round).join(",")})`;
  const clockOf = m => { const t = (((m + day.start_h * 60) % 1440) + 1440) % 1440; return String(Math.floor(t / 60)).padStart(2, "0") + ":" + String(Math.floor(t % 60)).padStart(2, "0"); };
  const rad = Math.PI / 180;

  const value = (name, i) => {
    const c = day.c;
    if (name === "aim_elevation") return 90 - c.aim_tilt_deg[i];
    if (name === "jet_mean") return c.jet_m[i] * c.duty[i];
    return c[name][i];
  };
  // The panel is a rectangle before a viewer who looks towards the equator and a little down.
  const panel = (tilt, azimuth) => {
    const [x0, y0, w, h] = at.panel, e = (90 - tilt) * rad, a = (azimuth - at.facing) * rad, down = 16 * rad;
    const flat = (depth, right, up) => [right, -(up * Math.cos(down) + depth * Math.sin(down))];
    const u = flat(-Math.sin(a), Math.cos(a), 0), v = flat(-Math.sin(e) * Math.cos(a), -Math.sin(e) * Math.sin(a), Math.cos(e));
    const point = (p, q) => [x0 + p * w * u[0] + q * h * v[0], y0 + p * w * u[1] + q * h * v[1]].map(k => k.toFixed(1)).join(" ");
    const front = Math.sin(e) * Math.sin(down) - Math.cos(e) * Math.cos(a) * Math.cos(down) > 0;
    set("panel", { points: [point(-1, -1), point(1, -1), point(1, 1), point(-1, 1)].join(" "), class: front ? "p-panel" : "p-panel back" });
    const lines = front ? [-0.5, 0, 0.5].map(k => `M${point(k, -1)}L${point(k, 1)}`).concat(`M${point(-1, 0)}L${point(1, 0)}`) : [`M${point(-1, -1)}L${point(1, 1)}M${point(-1, 1)}L${point(1, -1)}`];
    set("cells", { d: lines.join("") });
  };
  const sky = i => {
    const c = day.c, el = c.sun_elevation_deg[i], m = day.first + i;
    const across = el === null ? null : ((c.sun_azimuth_deg[i] - at.facing + 540) % 360) - 180;
    const beam = c.dni_w_m2[i] * (el === null ? 0 : Math.sin(el * rad)), global = beam + c.dhi_w_m2[i];
    const cover = global > 4 ? clamp((c.dhi_w_m2[i] / global - 0.18) / 0.72, 0, 1) : 0.35;
    // How long the sun has been down: the sky darkens within three quarters of an hour.
    const gone = el !== null || day.sunrise === null ? (el === null ? 45 : 0) : Math.min(Math.abs(m - day.sunrise), Math.abs(m - day.sunset), 45);
    const night = gone / 45, high = el === null ? 0 : clamp(el / 14, 0, 1);
    const dayTime = mix([132, 184, 219], [178, 187, 191], cover);
    $("sky").style.fill = rgb(mix(mix(mix([226, 178, 132], [166, 164, 168], cover * 0.8), dayTime, high), [24, 34, 54], night));
    $("night").style.opacity = (0.62 * night).toFixed(2);
    if (el !== null) {
      const x = at.middle + across * at.per_deg, y = at.horizon - el * at.up;
      set("sun", { cx: x.toFixed(1), cy: y.toFixed(1) });
      set("glow", { cx: x.toFixed(1), cy: y.toFixed(1) });
    }
    $("sun").style.opacity = el === null ? 0 : (1 - 0.8 * cover).toFixed(2);
    $("glow").style.opacity = el === null ? 0 : (0.5 * (1 - cover)).toFixed(2);
    for (const cloud of document.querySelectorAll(".p-cloud")) {
      const { x, y, size } = cloud.dataset, place = (((+x + m * 0.55 + 90) % 900) + 900) % 900 - 90;
      cloud.setAttribute("transform", `translate(${place.toFixed(1)} ${y}) scale(${(size * (0.7 + 1.1 * cover)).toFixed(2)})`);
      cloud.style.opacity = (clamp(cover * 1.25 - 0.1, 0, 0.94) * (1 - 0.7 * night)).toFixed(2);
    }
  };
  const fountain = i => {
    const c = day.c, [x, y] = at.nozzle, high = c.jet_m[i] * at.jet_per_m, [, , full, low] = at.water;
    const level = low - (low - full) * clamp(c.water_l[i] / (day.usable_l || 1), 0, 1);
    set("water", { y: level.toFixed(1) });
    const top = y - high, wide = 6 + 0.2 * high, fall = side => `M${x} ${top.toFixed(1)}C${x + side * wide * 0.7} ${(top - 3).toFixed(1)} ${x + side * wide} ${(top + high * 0.5).toFixed(1)} ${x + side * wide * 1.15} ${level.toFixed(1)}`;
    set("jet", { d: high > 0 && c.duty[i] > 0 ? `M${x} ${y}V${top.toFixed(1)}` + fall(-1) + fall(1) : "" });
    $("jet").style.opacity = (0.35 + 0.65 * c.duty[i]).toFixed(2);
    const soc = c.state_of_charge[i], [cx, cy, cw, ch] = at.charge;
    if (soc !== null) set("charge", { x: cx, width: cw, y: (cy + ch * (1 - soc)).toFixed(2), height: (ch * soc).toFixed(2) });
    const lift = clamp(c.wind_m_s[i] / 11, 0, 1) * 85 * rad, [px, py] = at.pole, long = 46, tip = [px + long * Math.sin(lift), py + 8 + long * Math.cos(lift)];
    set("pennant", { d: `M${px} ${py}L${tip.map(k => k.toFixed(1)).join(" ")}L${px} ${py + 16}Z` });
  };
  const readings = i => {
    for (const e of document.querySelectorAll(`.day[data-day="${which}"] .now`)) {
      const name = e.dataset.of, v = value(name, i);
      if (name === "state") e.textContent = "now: " + data.states[v];
      else e.textContent = v === null || v === undefined ? "–" : (v * e.dataset.factor).toFixed(e.dataset.decimals).replace("-", "\u2212");
    }
  };
  const dome = i => {
    const box = document.querySelector(`.day[data-day="${which}"] .dome`), c = day.c;
    const place = (azimuth, elevation) => { const r = 106 * (90 - elevation) / 90; return [130 + r * Math.sin(azimuth * rad), 130 - r * Math.cos(azimuth * rad)]; };
    const sun = box.querySelector(".at-sun"), el = c.sun_elevation_deg[i];
    sun.style.display = el === null ? "none" : "";
    if (el !== null) { const [x, y] = place(c.sun_azimuth_deg[i], el); sun.setAttribute("cx", x.toFixed(1)); sun.setAttribute("cy", y.toFixed(1)); }
    const [x, y] = place(c.aim_azimuth_deg[i], 90 - c.aim_tilt_deg[i]);
    box.querySelector(".at-panel").setAttribute("transform", `translate(${x.toFixed(1)} ${y.toFixed(1)}) rotate(45)`);
  };
  const show = m => {
    minute = clamp(m, day.first, day.first + day.count - 1);
    const i = Math.floor(minute) - day.first, clock = clockOf(Math.floor(minute));
    sky(i); fountain(i); readings(i); dome(i);
    panel(day.c.aim_tilt_deg[i], day.c.aim_azimuth_deg[i]);
    $("clock").textContent = clock;
    time.value = Math.floor(minute);
    time.setAttribute("aria-valuetext", clock + ", " + data.states[day.c.state[i]]);
    document.querySelector(`.day[data-day="${which}"] .cursor`).style.left = (minute - day.first) / day.count * 100 + "%";
  };
  const stop = () => { cancelAnimationFrame(timer); timer = 0; play.textContent = "Play"; };
  const start = () => {
    if (calm.matches) return;
    if (minute >= day.first + day.count - 1) show(day.first);
    play.textContent = "Pause";
    let before = 0;
    const step = now => {
      if (before) show(minute + Math.min(now - before, 100) / 1000 * $("speed").value);
      before = now;
      if (minute >= day.first + day.count - 1) stop(); else timer = requestAnimationFrame(step);
    };
    timer = requestAnimationFrame(step);
  };
  const choose = k => {
    const clock = minute;
    which = k; day = days[k];
    for (const e of document.querySelectorAll("[data-day]")) e.hidden = +e.dataset.day !== k;
    time.min = day.first; time.max = day.first + day.count - 1;
    show(clock);
  };
  const radios = [...document.querySelectorAll(".picker input")];
  const byName = () => { const name = location.hash.slice(1), k = radios.findIndex(r => name && r.dataset.names.split(" ").includes(name)); if (k >= 0) { radios[k].checked = true; choose(k); } };
  for (const r of radios) r.addEventListener("change", () => choose(+r.value));
  play.addEventListener("click", () => timer ? stop() : start());
  time.addEventListener("input", () => { stop(); show(+time.value); });
  for (const tracks of document.querySelectorAll(".tracks")) {
    const to = e => { const box = tracks.querySelector(".over").getBoundingClientRect(); stop(); show(Math.round(day.first + (e.clientX - box.left) / box.width * day.count)); };
    tracks.addEventListener("pointerdown", e => { if (e.target.closest(".plot") && e.button === 0) { tracks.setPointerCapture(e.pointerId); to(e); } });
    tracks.addEventListener("pointermove", e => { if (tracks.hasPointerCapture(e.pointerId)) to(e); });
  }
  const ask = () => { play.hidden = calm.matches; document.querySelector(".speed").hidden = calm.matches; $("still-note").hidden = !calm.matches; if (calm.matches) stop(); };
  calm.addEventListener("change", ask);
  addEventListener("hashchange", byName);
  ask();
  // The middle of the wanted minutes, or of the day.
  const wanted = day.c.state.flatMap((s, i) => s === 1 || s > 2 ? [i] : []);
  minute = day.first + (wanted.length ? wanted[wanted.length >> 1] : day.count >> 1);
  choose(0);
  byName();
})();
