// Opens the print window for a sheet that was just made; without it the browser's menu prints.
window.addEventListener("load", () => window.print());
