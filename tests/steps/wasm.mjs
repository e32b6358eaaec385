// MicroPython compiled to WebAssembly (31-bit small ints), run by Node.js.
// node wasm.mjs MODULE ROOT SEED STEPS: puts the core and the portable steps into its file system and runs them.
import { readFileSync, readdirSync } from "node:fs";
import { join } from "node:path";
import { pathToFileURL } from "node:url";

const [module, root, seed, steps] = process.argv.slice(2);
const { loadMicroPython } = await import(pathToFileURL(module).href);
const mp = await loadMicroPython({ heapsize: 256 * 1024, stdout: (line) => console.log(line) });
for (const folder of ["controller", "controller/core", "tests", "tests/steps"]) {
    mp.FS.mkdir("/" + folder);
    for (const name of readdirSync(join(root, folder)).filter((name) => name.endsWith(".py")))
        if (folder !== "tests" && folder !== "tests/steps" || ["__init__.py", "portable.py"].includes(name))
            mp.FS.writeFile(`/${folder}/${name}`, readFileSync(join(root, folder, name)));
}
mp.runPython(`
import sys
sys.path.insert(0, "/")
from tests.steps import portable
portable.main(${Number(seed)}, ${Number(steps)})
`);
