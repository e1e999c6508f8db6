"""The plain front: the same runs and fault walks as line prompts, for screen readers, bad links and scripts."""
