#pragma once

#include <vector>

namespace howl {

/// Kinematics of gears. Speeds and rates may be in any one unit: Hz, rpm, or turns per crank turn,
/// which makes the results orders. Teeth counts are ≥ 1, else std::invalid_argument.

/// Tooth meshes per unit of time: teeth · |speed of their shaft|; the same for both gears.
double mesh_rate(int teeth, double shaft_speed);

/// How often the same two teeth meet: mesh rate · gcd(a, b) / (a·b). With a common factor each
/// tooth meets only some of its mate's.
double hunting_tooth_rate(int teeth, int mate_teeth, double shaft_speed);

struct PlanetarySet {
  int sun_teeth{};
  int ring_teeth{};
};

/// Speeds about the common axis, with their sense of rotation as sign. They obey Willis' equation
/// (sun − carrier)·z_sun = −(ring − carrier)·z_ring.
struct PlanetarySpeeds {
  double sun{};
  double ring{};
  double carrier{};
};

PlanetarySpeeds planetary_from_sun_and_ring(const PlanetarySet& set, double sun, double ring);
PlanetarySpeeds planetary_from_sun_and_carrier(const PlanetarySet& set, double sun, double carrier);
PlanetarySpeeds planetary_from_ring_and_carrier(const PlanetarySet& set, double ring,
                                                double carrier);

/// z_sun·|sun − carrier| = z_ring·|ring − carrier|.
double planetary_mesh_rate(const PlanetarySet& set, const PlanetarySpeeds& speeds);

/// Of a planet about its own axis, seen from outside: carrier − (sun − carrier)·z_sun/z_planet.
double planet_speed(const PlanetarySet& set, int planet_teeth, const PlanetarySpeeds& speeds);

/// Lines that a sensor on the ring hears about the mesh of a set with equally spaced planets that
/// mesh in step with their places: multiples of the number of planets, in carrier orders. The mesh
/// line itself, order z_ring, is missing where the planets do not divide it (McFadden and Smith
/// 1985). All within `reach` carrier orders of the mesh line.
std::vector<int> planetary_lines_at_ring(const PlanetarySet& set, int planets, int reach);

}  // namespace howl
