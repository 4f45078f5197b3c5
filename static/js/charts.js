// Draws every [data-chart]. Figures arrive as JSON and name roles; colours come from tokens.css when drawn.
(() => {
  "use strict";
  const PLOTLY_URL = document.currentScript.dataset.plotly;
  const CONFIG = { displaylogo: false, showSendToCloud: false, responsive: true, displayModeBar: false };
  const root = document.documentElement;
  let loading = null;

  const loadPlotly = () => {
    loading ??= new Promise((resolve, reject) => {
      const script = document.createElement("script");
      script.src = PLOTLY_URL;
      script.onload = () => resolve(window.Plotly);
      script.onerror = () => { loading = null; reject(new Error("plotly did not load")); };
      document.head.append(script);
    });
    return loading;
  };

  const readPalette = () => {
    const style = getComputedStyle(root);
    const token = (name) => style.getPropertyValue(`--chart-${name}`).trim();
    return { paper: token("paper"), ink: token("ink"), soft: token("soft"), grid: token("grid"),
      accent: token("accent"), hatch: token("hatch"), small: Math.round(parseFloat(getComputedStyle(root).fontSize) * 0.74), font: getComputedStyle(document.body).fontFamily };
  };

  // --- Roles: what a trace is, so how it looks. Shape and dash differ before colour does. -----------
  const line = (color, width, dash, symbol, size) => ({ mode: "lines+markers", line: { color, width, dash },
    marker: { color, size, symbol, line: { color, width: 1.5 } } });
  const rule = (color, width, dash) => ({ mode: "lines", line: { color, width, dash }, hoverinfo: "skip" });
  const hatch = (c, shape) => ({ fillcolor: "rgba(0,0,0,0)",
    fillpattern: { shape, fgcolor: c.hatch, bgcolor: "rgba(0,0,0,0)", size: 7, solidity: 0.18, fillmode: "replace" } });
  const bar = (c, color, shape) => ({ marker: { color, line: { color: c.ink, width: 1 },
    pattern: { shape, fgcolor: c.ink, bgcolor: c.paper, size: 7, solidity: 0.25, fillmode: "replace" } } });

  const styleOf = {
    "score": (c) => line(c.accent, 2.5, "solid", "circle", 10),
    "score-other": (c) => line(c.ink, 1.5, "dot", "circle-open", 8),
    "pain": (c) => line(c.ink, 2, "solid", "square", 8),
    "pain-worst": (c) => line(c.ink, 2.75, "solid", "square", 10),
    "pain-usual": (c) => line(c.accent, 2.25, "dash", "diamond-open", 11),
    "pain-stairs": (c) => line(c.soft, 1.25, "dot", "triangle-up-open", 8),
    "pain-squatting": (c) => line(c.soft, 1.25, "dashdot", "triangle-down-open", 8),
    "pain-sitting": (c) => line(c.soft, 1.25, "longdash", "x-thin-open", 8),
    "pain-running": (c) => line(c.soft, 1.25, "longdashdot", "cross-thin-open", 8),
    "error-band": (c) => ({ mode: "lines", line: { color: c.hatch, width: 0 }, hoverinfo: "skip", ...hatch(c, "/") }),
    "important": (c) => rule(c.accent, 2, "dash"),
    "baseline": (c) => rule(c.soft, 1, "solid"),
    "goal": (c) => rule(c.ink, 1.25, "dot"),
    "limit": (c) => rule(c.ink, 1.25, "longdash"),
    "limit-inner": (c) => rule(c.ink, 1.25, "dot"),
    "flag": (c) => ({ mode: "markers", marker: { color: c.ink, size: 13, symbol: "triangle-right", line: { color: c.ink, width: 1 } } }),
    "pole": (c) => rule(c.soft, 1, "solid"),
    "event": (c) => ({ mode: "markers", marker: { color: c.paper, size: 11, symbol: "diamond", line: { color: c.ink, width: 2 } } }),
    "case": (c) => ({ mode: "markers", marker: { color: c.paper, size: 8, symbol: "circle", line: { color: c.ink, width: 1.25 } } }),
    "own": (c) => ({ mode: "markers", marker: { color: c.accent, size: 12, symbol: "circle", line: { color: c.ink, width: 1.5 } } }),
    "own-beyond": (c) => ({ mode: "markers", marker: { color: c.accent, size: 13, symbol: "diamond", line: { color: c.ink, width: 1.5 } } }),
    "ranged": (c) => ({ mode: "markers", marker: { color: c.ink, size: 11, symbol: "square" }, error_x: { color: c.ink, thickness: 1.75, width: 8 } }),
    "bar": (c) => bar(c, c.accent, ""),
    "bar-other": (c) => bar(c, c.paper, "/"),
    "bar-third": (c) => bar(c, c.paper, ""),
  };

  const isObject = (value) => value !== null && typeof value === "object" && !Array.isArray(value);
  const merge = (under, over) => {
    const result = { ...under };
    for (const [key, value] of Object.entries(over)) {
      result[key] = isObject(value) && isObject(result[key]) ? merge(result[key], value) : value;
    }
    return result;
  };

  const dressTrace = (trace, c) => {
    const dress = styleOf[trace.meta?.role];
    return dress ? merge(dress(c), trace) : trace;
  };

  const dressAxis = (axis, c) => merge({ gridcolor: c.grid, linecolor: c.soft, tickcolor: c.soft, showline: true, zeroline: false,
    ticks: "outside", ticklen: 4, fixedrange: true, automargin: true, tickfont: { color: c.soft }, title: { font: { color: c.soft, size: c.small } } }, axis);

  const dressShape = (shape, c) => {
    const dress = styleOf[shape.name];
    if (!dress) return merge({ line: { color: c.soft, width: 1 } }, shape);
    const { color, width, dash } = dress(c).line ?? { color: c.soft, width: 1 };
    return merge({ line: { color, width, dash }, layer: "below" }, shape);
  };

  // On paper every chart has the same drawing size, so that its letters do too.
  const PAPER = { width: 660, tall: 265, short: 210, letters: 14 };
  const DATES = { type: "date", automargin: false, tickformat: "%-d %b\n%Y", hoverformat: "%-d %b %Y" };
  const isOverTime = (data) => data.some((trace) => /^\d{4}-\d{2}-\d{2}/.test(trace.x?.[0] ?? ""));

  // The legend gets as many lines as its names need, so that it neither scrolls nor covers the days.
  const pen = document.createElement("canvas").getContext("2d");
  const legendRoom = (data, width, size, family) => {
    pen.font = `${size}px ${family}`;
    const names = data.filter((trace) => trace.showlegend !== false && (trace.visible ?? true) === true).map((trace) => trace.name ?? "");
    const longest = Math.max(0, ...names.map((name) => pen.measureText(name).width)) + 60;
    const across = Math.max(1, Math.floor((width - 16) / longest));
    return Math.ceil(names.length / across) * size * 1.45 + 6;
  };

  const dressLayout = (layout, data, c, width) => {
    const isPaper = root.hasAttribute("data-printing");
    const size = isPaper ? PAPER.letters : Math.round(parseFloat(getComputedStyle(root).fontSize) * 0.83);
    const days = size * (isOverTime(data) ? (isPaper ? 3.2 : 3.5) : 2.4);
    const dressed = merge({
      font: { family: c.font, size, color: c.ink }, paper_bgcolor: "rgba(0,0,0,0)", plot_bgcolor: "rgba(0,0,0,0)",
      margin: { l: 48, r: 16, t: 12, b: layout?.showlegend === false ? 40 : Math.round(days + legendRoom(data, isPaper ? PAPER.width : width, size, c.font)) }, dragmode: false, hovermode: "closest",
      hoverlabel: { bgcolor: c.paper, bordercolor: c.ink, font: { family: c.font, size, color: c.ink } },
      legend: { orientation: "h", x: 0, xanchor: "left", yref: "container", y: 0.01, yanchor: "bottom", bgcolor: "rgba(0,0,0,0)", itemclick: false, itemdoubleclick: false, traceorder: "normal" },
      xaxis: isOverTime(data) ? DATES : {}, yaxis: {},
    }, layout ?? {});
    for (const key of Object.keys(dressed)) {
      if (/^[xy]axis\d*$/.test(key)) dressed[key] = dressAxis(dressed[key], c);
    }
    if (isPaper) dressed.yaxis.title = { text: "" }; // the caption above says the scale and its direction
    dressed.shapes = (dressed.shapes ?? []).map((shape) => dressShape(shape, c));
    dressed.annotations = (dressed.annotations ?? []).map((note) => merge({ showarrow: false, font: { color: c.soft } }, note));
    return dressed;
  };

  // With a viewBox each layer can shrink to a printed sheet.
  const makeScalable = (plot) => {
    for (const layer of plot.querySelectorAll(".main-svg")) {
      const width = layer.getAttribute("width");
      const height = layer.getAttribute("height");
      if (!(width > 0 && height > 0)) continue;
      layer.setAttribute("viewBox", `0 0 ${width} ${height}`);
      plot.style.setProperty("--chart-ratio", String(width / height));
    }
  };

  const sizeFor = (plot, layout) => (root.hasAttribute("data-printing")
    ? { width: PAPER.width, height: layout?.meta?.paper ?? (plot.classList.contains("is-short") ? PAPER.short : PAPER.tall) }
    : { width: undefined, height: undefined, autosize: true });

  // What is drawn only when asked for has a button below the chart; the button holds whether it is.
  const askedFor = (figure) => new Set([...figure.querySelectorAll('[data-chart-also][aria-pressed="true"]')].map((button) => button.dataset.chartAlso));

  const draw = (figure, Plotly) => {
    const plot = figure.querySelector("[data-chart-plot]");
    const source = document.getElementById(`${figure.dataset.chart}-data`);
    const given = JSON.parse(source.textContent);
    const { data, layout } = typeof given === "string" ? JSON.parse(given) : given;
    const palette = readPalette();
    plot.classList.remove("is-missing");
    const asked = askedFor(figure);
    const shown = data.map((trace) => (asked.has(trace.name) ? { ...trace, visible: true } : trace));
    const traces = shown.map((trace) => dressTrace(trace, palette));
    return Plotly.react(plot, traces, { ...dressLayout(layout, shown, palette, plot.clientWidth), ...sizeFor(plot, layout) }, CONFIG).then(() => {
      makeScalable(plot);
      if (plot.dataset.drawn) return;
      plot.dataset.drawn = "yes";
      plot.on("plotly_afterplot", () => makeScalable(plot));
    });
  };

  // The table holds the same numbers: where a chart cannot be drawn, it opens.
  const showTableInstead = (figure) => {
    figure.querySelector("[data-chart-plot]").classList.add("is-missing");
    const table = figure.querySelector("details");
    table.removeAttribute("data-closes");
    table.open = true;
    if (figure.querySelector(".chart-problem")) return;
    const words = document.createElement("p");
    words.className = "chart-problem";
    words.textContent = "The chart could not be drawn. Its numbers are in the table.";
    table.before(words);
  };

  const drawOne = (figure) => loadPlotly().then((Plotly) => draw(figure, Plotly)).catch((error) => {
    console.error(error);
    showTableInstead(figure);
  });
  const drawIn = (part) => {
    if (part.matches?.("[data-chart]")) drawOne(part);
    part.querySelectorAll("[data-chart]").forEach(drawOne);
  };
  const redrawAll = () => { if (window.Plotly) drawIn(document); };

  drawIn(document);
  document.addEventListener("click", (event) => {
    const button = event.target.closest?.("[data-chart-also]");
    if (!button) return;
    button.setAttribute("aria-pressed", String(button.getAttribute("aria-pressed") !== "true"));
    drawOne(button.closest("[data-chart]"));
  });
  document.addEventListener("htmx:load", (event) => {
    if (event.detail.elt !== document.body) drawIn(event.detail.elt);
  });
  document.addEventListener("themechange", redrawAll);
  for (const query of ["(prefers-color-scheme: dark)", "(prefers-contrast: more)"]) {
    matchMedia(query).addEventListener("change", redrawAll);
  }
  window.addEventListener("beforeprint", () => { root.dataset.printing = ""; redrawAll(); });
  window.addEventListener("afterprint", () => { delete root.dataset.printing; redrawAll(); });
})();
