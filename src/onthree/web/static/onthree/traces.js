// Traces of head on trunk beside the film: the cursor stands where the film stands, a click takes the film there.
// What is drawn is thinned to the least and most of each column of the picture, gaps stay empty; nothing is smoothed.
"use strict";

(() => {
  const data = JSON.parse(document.getElementById("traces-data").textContent);
  const film = document.getElementById("film");
  const PLOTS = 4;
  const HEIGHT_PX = 150;
  const ZOOM_RATIO = 0.6;
  const colour = (name) => getComputedStyle(document.documentElement).getPropertyValue(name).trim();
  let time = null;
  let columns = [];
  let plots = [];
  let whole = []; // of each plot what is drawn when all is shown
  let view = [0, 1];
  let cursorS = 0;

  // A player shows the film's own clock, on which the first frame may stand later than at 0
  const beginsS = () => data.begins_s[film.getAttribute("src")] || 0;

  // Place of the first moment at or after one
  const placeOf = (atS) => {
    let [low, high] = [0, time.length];
    while (low < high) {
      const middle = (low + high) >> 1;
      if (time[middle] < atS) low = middle + 1;
      else high = middle;
    }
    return low;
  };

  const nearest = (atS) => {
    const place = Math.min(placeOf(atS), time.length - 1);
    return place > 0 && atS - time[place - 1] < time[place] - atS ? place - 1 : place;
  };

  // Least and most of value and band in each column of the picture; a moment that was not seen is an empty place
  const thinned = (number, from, to, width) => {
    const values = columns[number + 1];
    const halves = columns[number + 1 + PLOTS];
    const [xs, shown, lows, highs] = [[], [], [], []];
    const put = (x, value, low, high) => {
      xs.push(x);
      shown.push(value);
      lows.push(low);
      highs.push(high);
    };
    const step = Math.max((to - from) / width, 1);
    for (let begin = from; begin < to; begin += step) {
      const [first, end] = [Math.floor(begin), Math.min(Math.floor(begin + step), to)];
      let [least, most, low, high, gap] = [-1, -1, Infinity, -Infinity, -1];
      for (let i = first; i < end; i += 1) {
        const value = values[i];
        if (value !== value) {
          gap = i;
          continue;
        }
        if (least < 0 || value < values[least]) least = i;
        if (most < 0 || value > values[most]) most = i;
        low = Math.min(low, value - halves[i]);
        high = Math.max(high, value + halves[i]);
      }
      if (least < 0) {
        if (gap >= 0) put(time[gap], null, null, null);
        continue;
      }
      const inOrder = [...new Set([least, most])].sort((one, other) => one - other);
      if (gap >= 0 && gap < inOrder[0]) put(time[gap], null, null, null);
      for (const i of inOrder) put(time[i], values[i], low === low ? low : null, high === high ? high : null);
      if (gap > inOrder.at(-1)) put(time[gap], null, null, null);
      else if (gap > inOrder[0]) {
        const last = xs.length - 1;
        xs.splice(last, 0, time[gap]);
        for (const each of [shown, lows, highs]) each.splice(last, 0, null);
      }
    }
    return [xs, shown, lows, highs];
  };

  const phaseBands = (plot) => {
    const { ctx, bbox } = plot;
    ctx.save();
    ctx.beginPath();
    ctx.rect(bbox.left, bbox.top, bbox.width, bbox.height);
    ctx.clip();
    data.phases.forEach((phase, index) => {
      const [left, right] = [plot.valToPos(phase.start_s, "x", true), plot.valToPos(phase.end_s, "x", true)];
      ctx.fillStyle = colour(index % 2 ? "--paper" : "--faint");
      ctx.fillRect(left, bbox.top, right - left, bbox.height);
      ctx.fillStyle = colour("--quiet");
      ctx.font = `${12 * devicePixelRatio}px sans-serif`;
      const from = Math.max(left, bbox.left) + 4;
      const room = Math.min(right, bbox.left + bbox.width) - from;
      const label = ctx.measureText(phase.name).width < room ? phase.name : String(index + 1);
      if (ctx.measureText(label).width < room) ctx.fillText(label, from, bbox.top + 13 * devicePixelRatio);
      for (const [atS, dash] of [[phase.peak_s, [2, 4]], [phase.body_at_s, [8, 4]], [phase.head_at_s, [8, 4, 2, 4]]]) {
        if (atS === null) continue;
        ctx.beginPath();
        ctx.setLineDash(dash);
        ctx.strokeStyle = colour("--quiet");
        ctx.moveTo(plot.valToPos(atS, "x", true), bbox.top);
        ctx.lineTo(plot.valToPos(atS, "x", true), bbox.top + bbox.height);
        ctx.stroke();
      }
    });
    ctx.restore();
  };

  const drawCursor = (plot) => {
    if (!time) return;
    const { ctx, bbox } = plot;
    const x = plot.valToPos(cursorS, "x", true);
    if (x < bbox.left || x > bbox.left + bbox.width) return;
    ctx.save();
    ctx.fillStyle = colour("--ink");
    ctx.fillRect(x - 1, bbox.top, 2 * devicePixelRatio, bbox.height);
    ctx.restore();
  };

  const optionsOf = (box) => ({
    width: box.clientWidth,
    height: HEIGHT_PX,
    legend: { show: false },
    cursor: { drag: { x: true, y: false, setScale: false }, points: { show: false }, y: false },
    scales: { x: { time: false } },
    axes: [
      { stroke: colour("--quiet"), grid: { stroke: colour("--edge"), width: 0.5 }, values: (plot, splits) => splits.map((each) => `${+each.toFixed(3)} s`), size: 28 },
      { stroke: colour("--quiet"), grid: { stroke: colour("--edge"), width: 0.5 }, size: 46 },
    ],
    series: [{}, { stroke: colour("--ink"), width: 1.5, points: { show: false } }, { width: 0, points: { show: false } }, { width: 0, points: { show: false } }],
    bands: [{ series: [3, 2], fill: `${colour("--accent")}55` }],
    hooks: { drawClear: [phaseBands], draw: [drawCursor], setSelect: [selected] },
  });

  const selected = (plot) => {
    const { left, width } = plot.select;
    if (width < 8) return;
    const [from, to] = [plot.posToVal(left, "x"), plot.posToVal(left + width, "x")];
    plot.setSelect({ left: 0, width: 0, top: 0, height: 0 }, false);
    show(from, to);
  };

  const show = (fromS, toS) => {
    const began = performance.now();
    const [first, last] = [time[0], time[time.length - 1]];
    view = [Math.max(fromS, first), Math.min(toS, last)];
    const [from, to] = [Math.max(placeOf(view[0]) - 1, 0), Math.min(placeOf(view[1]) + 2, time.length)];
    plots.forEach((plot, number) => plot.batch(() => {
      const isWhole = from === 0 && to === time.length;
      plot.setData(isWhole ? whole[number] : thinned(number, from, to, plot.bbox.width || plot.width), false);
      plot.setScale("x", { min: view[0], max: view[1] });
      plot.setScale("y", { min: null, max: null });
    }));
    document.body.dataset.drewMs = String(performance.now() - began);
  };

  const zoom = (ratio) => {
    const half = ((view[1] - view[0]) * ratio) / 2;
    show(cursorS - half, cursorS + half);
  };

  const told = (value, half) => (value !== value ? "not known" : `${value.toFixed(1)}${half === half ? ` ± ${half.toFixed(1)}` : ""}`);

  const stand = (atS) => {
    cursorS = atS;
    const place = nearest(atS);
    for (const plot of plots) plot.redraw(false, false);
    const values = [0, 1, 2, 3].map((number) => told(columns[number + 1][place], columns[number + 1 + PLOTS][place]));
    document.getElementById("at-cursor").textContent = `${time[place].toFixed(3)} s: flexion ${values[0]}, lateral ${values[1]}, axial ${values[2]}, total ${values[3]} degrees`;
    document.querySelectorAll(".plot").forEach((box, number) => {
      box.setAttribute("aria-valuenow", time[place].toFixed(3));
      box.setAttribute("aria-valuetext", `${time[place].toFixed(2)} s, ${values[number]} degrees`);
    });
  };

  const seek = (place) => {
    const kept = Math.min(Math.max(place, 0), time.length - 1);
    const next = kept + 1 < time.length ? (time[kept + 1] - time[kept]) / 2 : 0;
    film.pause();
    film.currentTime = beginsS() + time[kept] + Math.min(next, 0.004);
    stand(time[kept]);
  };

  const step = (count) => seek(nearest(cursorS) + count);

  const followFilm = () => {
    if (!film.requestVideoFrameCallback) {
      film.addEventListener("timeupdate", () => stand(film.currentTime - beginsS()));
      return;
    }
    const onFrame = (now, frame) => {
      stand(frame.mediaTime - beginsS());
      film.requestVideoFrameCallback(onFrame);
    };
    film.requestVideoFrameCallback(onFrame);
  };

  const keys = (event) => {
    const many = event.shiftKey ? 10 : 1;
    const deeds = {
      ArrowLeft: () => step(-many),
      ArrowRight: () => step(many),
      Home: () => seek(0),
      End: () => seek(time.length - 1),
      "+": () => zoom(ZOOM_RATIO),
      "-": () => zoom(1 / ZOOM_RATIO),
      0: () => show(time[0], time[time.length - 1]),
    };
    if (!deeds[event.key] || event.ctrlKey || event.altKey || event.metaKey) return;
    event.preventDefault();
    deeds[event.key]();
  };

  const draw = () => {
    const began = performance.now();
    plots.forEach((plot) => plot.destroy());
    const boxes = [...document.querySelectorAll(".plot")];
    whole = boxes.map((box, number) => thinned(number, 0, time.length, box.clientWidth * devicePixelRatio));
    plots = boxes.map((box, number) => {
      const plot = new uPlot(optionsOf(box), whole[number], box);
      plot.over.addEventListener("click", (event) => seek(nearest(plot.posToVal(event.offsetX, "x"))));
      return plot;
    });
    view = [time[0], time[time.length - 1]];
    document.body.dataset.firstMs = String(performance.now() - began);
  };

  const begin = async () => {
    const answer = await fetch(data.address);
    if (!answer.ok) return;
    const all = new Float32Array(await answer.arrayBuffer());
    columns = Array.from({ length: data.columns }, (_, number) => all.subarray(number * data.count, (number + 1) * data.count));
    time = columns[0];
    draw();
    document.querySelectorAll(".plot").forEach((box) => {
      box.setAttribute("aria-valuemax", time[time.length - 1].toFixed(3));
      box.addEventListener("keydown", keys);
    });
    document.getElementById("frame-back").addEventListener("click", () => step(-1));
    document.getElementById("frame-on").addEventListener("click", () => step(1));
    document.getElementById("zoom-in").addEventListener("click", () => zoom(ZOOM_RATIO));
    document.getElementById("zoom-out").addEventListener("click", () => zoom(1 / ZOOM_RATIO));
    document.getElementById("show-all").addEventListener("click", () => show(time[0], time[time.length - 1]));
    const which = document.getElementById("which");
    if (which) which.addEventListener("change", () => {
      film.src = which.value;
      film.addEventListener("loadedmetadata", () => seek(nearest(cursorS)), { once: true });
    });
    addEventListener("resize", () => {
      const kept = view;
      draw();
      show(...kept);
    });
    matchMedia("(prefers-color-scheme: dark)").addEventListener("change", draw);
    followFilm();
    stand(time[0]);
    document.body.dataset.traces = "drawn";
  };

  begin();
})();
