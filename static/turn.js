// Turns the isometric drawing: by finger or mouse, by arrow keys, by the buttons. The page works without.
"use strict";

{
  const svg = document.querySelector("svg.iso");
  const { middle, scale } = svg.dataset;
  const rad = Math.PI / 180;
  let turn = svg.dataset.turn * rad;
  let rise = svg.dataset.rise * rad;
  const heads = { flow: [15, 4.5], size: [8, 2] };
  const parts = [...svg.querySelectorAll("[data-p]")].map((part) => {
    const at = part.closest("[data-at]");
    const numbers = part.dataset.p.split(" ").map(Number);
    const points = [];
    for (let k = 0; k < numbers.length; k += 3) points.push(numbers.slice(k, k + 3));
    return { part, points, at: at ? at.dataset.at.split(" ").map(Number) : [+middle, +middle] };
  });
  const pipe = svg.querySelector(".pipe");
  const near = new Map(parts.map(({ part, points }) => [part.parentNode, points]));

  function draw() {
    const [s, c, se, ce] = [Math.sin(turn), Math.cos(turn), Math.sin(rise), Math.cos(rise)];
    const seen = ([x, y, z], at) => [at[0] + scale * (y * c - x * s), at[1] - scale * (z * ce - (x * c + y * s) * se)];
    const depth = (points) =>
      points.reduce((sum, [x, y, z]) => sum + (x * c + y * s) * ce + z * se, 0) / points.length;
    for (const { part, points, at } of parts) {
      const flat = points.map((point) => seen(point, at));
      const [[x, y], [u, v] = flat[0]] = flat;
      const far = Math.hypot(u - x, v - y);
      if ("word" in part.dataset) {
        let angle = far < 1 ? 0 : Math.atan2(v - y, u - x) / rad;
        if (angle > 89.9) angle -= 180;
        else if (angle < -90.1) angle += 180;
        part.setAttribute("transform", `translate(${(x + u) / 2} ${(y + v) / 2})rotate(${angle})`);
        part.classList.toggle("end-on", Math.hypot(x - at[0], y - at[1]) < 14 && at[0] < middle);
      } else if ("tag" in part.dataset) part.setAttribute("transform", `translate(${x} ${y})`);
      else if (part.dataset.head) {
        const [long, half] = heads[part.dataset.head];
        const [p, q] = [(u - x) / far, (v - y) / far];
        const corner = (side) => `L${x + p * long - side * q * half} ${y + q * long + side * p * half}`;
        part.setAttribute("d", far < 1 ? "" : `M${x} ${y}${corner(1)}${corner(-1)}Z`);
      } else part.setAttribute("d", "M" + flat.map((point) => point.join(" ")).join("L"));
    }
    pipe.append(...[...pipe.children].sort((a, b) => depth(near.get(a)) - depth(near.get(b))));
  }

  function go(byTurn, byRise) {
    turn += byTurn;
    svg.setAttribute("viewBox", `0 0 ${2 * middle} ${2 * middle}`);
    rise = Math.max(-Math.PI / 2, Math.min(Math.PI / 2, rise + byRise));
    requestAnimationFrame(draw);
    for (const link of document.querySelectorAll(".sides a")) link.removeAttribute("aria-current");
  }

  let last;
  svg.addEventListener("pointerdown", (event) => {
    last = event;
    svg.setPointerCapture(event.pointerId);
  });
  svg.addEventListener("pointermove", (event) => {
    if (!last) return;
    go((last.clientX - event.clientX) / 120, (event.clientY - last.clientY) / 120);
    last = event;
  });
  for (const end of ["pointerup", "pointercancel"]) svg.addEventListener(end, () => (last = undefined));

  const keys = { ArrowLeft: [1, 0], ArrowRight: [-1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };
  svg.addEventListener("keydown", (event) => {
    const way = keys[event.key];
    if (!way) return;
    event.preventDefault();
    go(way[0] * 15 * rad, way[1] * 15 * rad);
  });
  document.getElementById("iso-how").textContent = "Drag it sideways to turn it, or use the arrow keys.";
}
