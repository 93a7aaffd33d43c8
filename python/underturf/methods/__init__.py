"""What layouts and sites can be asked, one file a question.

Every function takes what it is asked of first, and is a method of `Layouts` or `Site`: these two classes are lists of what stands
here.
"""
