"""The windows. The only room that imports Qt."""
