// Package photo owns what becomes of a picture from a camera: it is read within
// limits, put upright, made small, and written anew without what the camera wrote
// beside it (where it was taken, with what, when). It never stores anything.
package photo
