"""What goes on paper: sheets as data, made of rig, playbook, fault tree, frequency plan and log; and as text and HTML."""
