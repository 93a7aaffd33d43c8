"""The command line: ``underturf COMMAND``. What Python can do for a day of planting, it can.

A file a command or a small group of them. `program` puts them together, `given` holds what they are asked with, `answers` how
they answer. `import underturf` loads none of this.
"""
