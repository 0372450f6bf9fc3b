"""Build motion/data/rack_table.npz from the pin model. Run after changing motion/pins.py or its kernels:

python script/build_rack_table.py
"""

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from motion.rack_table import DATA, build

if __name__ == "__main__":
    build()
    print(f"wrote {DATA.name}, {DATA.stat().st_size // 1024} kB")
