"""The plan, its reasons and its changes in words for the screen."""
