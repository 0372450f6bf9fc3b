"""The trade's words for where a ball hit, each with its offset at first contact in boards."""

try:
    from motion.pocket import HIT_WORDS
except ImportError:  # being written
    HIT_WORDS = {"flush": 2.5, "light": 3.5, "high": 1.5, "nose": 0.0, "brooklyn": -2.5}

__all__ = ["HIT_WORDS"]
