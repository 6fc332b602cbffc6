// Package authority owns the shop's certificate authority: it is made once, kept in
// the shop's folder, and vouches for the names of this server, the addresses of private
// networks and nothing else. It never serves anything and knows no record.
package authority
