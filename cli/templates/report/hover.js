// Points at the same place of an outline in every picture at once, and reads its numbers out.
"use strict";
(() => {
  const data = JSON.parse(document.getElementById("points").textContent);
  const readout = document.getElementById("readout");
  const svg = "http://www.w3.org/2000/svg";
  document.documentElement.classList.add("scripted");
  if (data.points.length === 0) { readout.remove(); return; }

  // where a point lies in a picture, in the picture's own units; none where it is not shown
  const place = (picture, point) => {
    for (const plot of picture.plots) {
      if (plot.body !== null) { if (plot.body !== point.b) continue; }
      if (plot.chart) return [plot.x0 + plot.sx * point.u, plot.y0 - plot.sy * point.v];
      return [plot.x0 + plot.scale * (point.x - plot.wx), plot.y0 + plot.scale * (plot.wy - point.y)];
    }
    return null;
  };

  const shown = [];
  for (const picture of data.pictures) {
    const box = document.querySelector(`[data-picture="${picture.id}"]`);
    const over = box.querySelector("svg");
    const rings = ["spot inner", "spot"].map((name) => {
      const ring = document.createElementNS(svg, "circle");
      ring.setAttribute("class", name);
      ring.setAttribute("r", "7");
      ring.setAttribute("visibility", "hidden");
      over.append(ring);
      return ring;
    });
    shown.push({ picture, box, over, rings });
    box.tabIndex = 0;
    box.addEventListener("pointermove", (event) => point(picture, over, event));
    box.addEventListener("pointerdown", (event) => point(picture, over, event));
    box.addEventListener("keydown", (event) => {
      const step = { ArrowRight: 1, ArrowUp: 1, ArrowLeft: -1, ArrowDown: -1 }[event.key];
      if (step === undefined) return;
      event.preventDefault();
      choose((chosen + step + data.points.length) % data.points.length);
    });
  }

  let chosen = 0;
  function choose(index) {
    chosen = index;
    const p = data.points[index];
    for (const { picture, rings } of shown) {
      const at = place(picture, p);
      for (const ring of rings) {
        ring.setAttribute("visibility", at === null ? "hidden" : "visible");
        if (at !== null) {
          ring.setAttribute("cx", at[0]);
          ring.setAttribute("cy", at[1]);
        }
      }
    }
    readout.textContent = p.t;
  }

  function point(picture, over, event) {
    const area = over.getBoundingClientRect();
    const x = (event.clientX - area.left) / area.width * picture.width;
    const y = (event.clientY - area.top) / area.height * picture.height;
    let best = -1;
    let gap = 45 * 45;
    data.points.forEach((p, index) => {
      const at = place(picture, p);
      if (at === null) return;
      const chart = picture.plots[0].chart;
      let off = Math.abs(at[0] - x);
      if (data.round) {
        if (!chart) {
          // the left half is a mirror image
          const plot = picture.plots[0];
          const axis = plot.x0 - plot.scale * plot.wx;
          off = Math.min(off, Math.abs(2 * axis - at[0] - x));
        }
      }
      const far = off ** 2 + (chart ? 0 : (at[1] - y) ** 2);
      if (gap > far) { gap = far; best = index; }
    });
    if (best >= 0) choose(best);
  }
})();
