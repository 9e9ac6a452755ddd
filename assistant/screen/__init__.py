"""What is shown: everything spoken, and how each utterance was understood."""
