"""What script/server and script/test do. Modules imported before there is an environment need only Python."""
