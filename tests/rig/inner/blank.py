"""Format a flash image and put nothing, or one file, on it. Arguments: repository, image, [name, text]."""

import sys

HERE, PATH = sys.argv[1], sys.argv[2]
sys.path.insert(0, HERE + "/tests/rig/inner")

from harness import Rig, write  # noqa: E402

rig = Rig(HERE, path=PATH)
if len(sys.argv) > 4:
    write(sys.argv[3], sys.argv[4])
rig.unmount()
print("formatted")
