// Runs the app's own program off the main thread for longer work. The page sends the compiled program first;
// from then on the program itself hears messages and answers them.
import start from "./__GLUE__";

self.addEventListener("message", (event) => {
  start({ module_or_path: event.data }).catch((problem) => {
    self.postMessage(String(problem?.stack || problem));
  });
}, { once: true });
