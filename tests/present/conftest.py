"""What is shown is held against the screen, so every test has a state folder and a terminal of its own here too."""

from tests.screen.conftest import own_folders as own_folders
