// Draws on a photo. Each mark is black in a white casing, so that it shows on rust, rubber and chrome alike.
"use strict";

(() => {
  const canvas = document.getElementById("marks");
  const pen = canvas.getContext("2d");
  const words = document.getElementById("mark-words");
  const unit = Math.max(canvas.width, canvas.height) / 200; // half the width of a line [pixels]
  const photo = new Image();
  const marks = [];
  let tool = "arrow";
  let from = null;

  function lines(paths) {
    for (const [colour, width] of [["#fff", 4 * unit], ["#a81b14", 2 * unit]]) {
      Object.assign(pen, { strokeStyle: colour, lineWidth: width, lineCap: "round", lineJoin: "round" });
      for (const path of paths) pen.stroke(path);
    }
  }
  function text(said, x, y) {
    Object.assign(pen, { font: `700 ${7 * unit}px sans-serif`, textAlign: "center", textBaseline: "middle", lineJoin: "round" });
    Object.assign(pen, { strokeStyle: "#fff", lineWidth: 3 * unit, fillStyle: "#a81b14" });
    pen.strokeText(said, x, y);
    pen.fillText(said, x, y);
  }
  function straight(points) {
    const path = new Path2D();
    path.moveTo(...points[0]);
    for (const point of points.slice(1)) path.lineTo(...point);
    return path;
  }
  // A point `along` from b back towards a, and `aside` of the line [units].
  function beside([ax, ay], [bx, by], along, aside) {
    const turn = Math.atan2(by - ay, bx - ax);
    return [bx - unit * (along * Math.cos(turn) + aside * Math.sin(turn)), by - unit * (along * Math.sin(turn) - aside * Math.cos(turn))];
  }
  const DRAW = {
    arrow: (a, b) => lines([straight([a, b]), straight([beside(a, b, 7, 4), b, beside(a, b, 7, -4)])]),
    circle: (a, b) => {
      const path = new Path2D();
      path.ellipse((a[0] + b[0]) / 2, (a[1] + b[1]) / 2, Math.abs(a[0] - b[0]) / 2, Math.abs(a[1] - b[1]) / 2, 0, 0, 2 * Math.PI);
      lines([path]);
    },
    dimension: (a, b, said) => {
      lines([straight([a, b]), straight([beside(a, b, 0, 5), beside(a, b, 0, -5)]), straight([beside(b, a, 0, 5), beside(b, a, 0, -5)])]);
      text(said, (a[0] + b[0]) / 2, (a[1] + b[1]) / 2 - 6 * unit);
    },
    words: (a, b, said) => text(said, ...b),
  };
  function draw() {
    pen.drawImage(photo, 0, 0, canvas.width, canvas.height);
    for (const { kind, a, b, said } of marks) DRAW[kind](a, b, said);
  }

  // What is sent is what is seen.
  function keep() {
    canvas.toBlob((blob) => {
      const chosen = new DataTransfer();
      if (marks.length) chosen.items.add(new File([blob], "marked.jpg", { type: "image/jpeg" }));
      document.getElementById("marked").files = chosen.files;
    }, "image/jpeg", 0.9);
  }

  const place = (event) => {
    const box = canvas.getBoundingClientRect();
    return [(event.clientX - box.left) * canvas.width / box.width, (event.clientY - box.top) * canvas.height / box.height];
  };
  const far = (a, b) => Math.hypot(a[0] - b[0], a[1] - b[1]) > 8 * unit;
  function add(a, b) {
    if (!photo.naturalWidth) return say("The photo is not on this phone: it can be drawn on with signal.");
    if ((tool === "words" || tool === "dimension") && !words.value.trim()) {
      say("Type first what it says.");
      words.focus();
      return;
    }
    marks.push({ kind: tool, a, b, said: words.value.trim() });
    from = null;
    say("");
    draw();
    keep();
  }
  function touch(here) {
    if (tool === "words") add(here, here);
    else if (from && far(from, here)) add(from, here);
    else from = here;
  }
  canvas.addEventListener("pointerdown", (event) => touch(place(event)));
  canvas.addEventListener("pointerup", (event) => {
    const here = place(event);
    if (from && far(from, here)) add(from, here);
    else if (from) say("Now tap where it ends.");
  });
  // With keys: arrows move a cross over the photo, Enter sets where a mark begins and ends.
  const STEPS = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };
  let cross = [canvas.width / 2, canvas.height / 2];
  function aim() {
    const [x, y] = cross;
    draw();
    lines([straight([[x - 6 * unit, y], [x + 6 * unit, y]]), straight([[x, y - 6 * unit], [x, y + 6 * unit]])]);
  }
  canvas.addEventListener("focus", aim);
  canvas.addEventListener("blur", draw);
  canvas.addEventListener("keydown", (event) => {
    const step = STEPS[event.key];
    if (!step && event.key !== "Enter") return;
    event.preventDefault();
    if (step) {
      const reach = (event.shiftKey ? 2 : 10) * unit;
      cross = [canvas.width, canvas.height].map((most, axis) => Math.min(most, Math.max(0, cross[axis] + reach * step[axis])));
    } else {
      touch(cross);
      if (from) say("Now move to where it ends, and press Enter.");
    }
    if (document.activeElement === canvas) aim();
  });
  for (const button of document.querySelectorAll("[data-tool]")) {
    button.addEventListener("click", () => {
      tool = button.dataset.tool;
      from = null;
      for (const other of document.querySelectorAll("[data-tool]")) other.ariaPressed = String(other === button);
    });
  }
  document.getElementById("mark-undo").addEventListener("click", () => {
    marks.pop();
    draw();
    keep();
  });
  // Kept until it can be sent: the next marks begin on the photo as it was taken.
  document.getElementById("marks-form").addEventListener("reset", () => {
    marks.length = 0;
    draw();
  });
  photo.addEventListener("load", draw);
  photo.src = canvas.dataset.picture;
})();
