"""Line drawings of exercises: poses in, pictures out, no artwork from elsewhere.

`python -m programs.drawings` writes `static/drawings/<key>.svg`. Places are in units of
the picture, from the left and up from the ground; angles are in degrees, 0 to the right
and 90 up. A person is about 145 units tall and faces right.
"""
