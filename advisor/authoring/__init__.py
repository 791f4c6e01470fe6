"""Help for whoever writes rule sets and cases: running a rule's examples, skeletons, renaming."""
