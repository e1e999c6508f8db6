"""A packing list whose steps are about the to-fix list."""

PACKING = """
playbook: packing
title: Packing
sections:
  - title: Spares
    steps:
      - {id: see, do: "See to it: {item.name}", for_each: item}
      - {id: keep, do: Close or keep every item, opens: to-fix}
"""
