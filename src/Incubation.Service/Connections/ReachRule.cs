using System.Buffers.Binary;
using System.Collections.Immutable;
using System.Net;
using System.Net.Sockets;

namespace Incubation.Service.Connections;

/// <summary>
/// To which addresses this server connects for a destination. What leads to this machine, to its own link, to everybody
/// or to the service that hands out a machine's secrets is connected to only where an administrator has named it.
/// </summary>
/// <remarks>The blocks are those of IANA's registries of special-purpose addresses: RFC 6890, RFC 3927 (169.254/16),
/// RFC 4291 (::1, fe80::/10, mapped and compatible addresses), RFC 6052 (64:ff9b::/96), RFC 3056 (2002::/16); from
/// memory.</remarks>
public static class ReachRule
{
    /// <summary>A well-known address of such a service outside the link-local blocks.</summary>
    private static readonly IPAddress MetadataV6 = IPAddress.Parse("fd00:ec2::254");

    private static readonly IPAddress MetadataV4 = IPAddress.Parse("100.100.100.200");

    /// <summary>Whether an address may be connected to.</summary>
    /// <param name="address">What a name resolved to.</param>
    /// <param name="named">The addresses that an administrator has named.</param>
    /// <param name="isSecret">Whether what is sent is encrypted and the other end proves who it is.</param>
    public static bool Allows(IPAddress address, ImmutableArray<string> named, bool isSecret)
    {
        ArgumentNullException.ThrowIfNull(address);
        var plain = Plain(address);
        return named.Contains(plain.ToString()) || named.Contains(address.ToString())
            || (isSecret && !IsNear(plain));
    }

    /// <summary>Whether an address leads to this machine, its link, everybody, or a machine's secrets.</summary>
    public static bool IsNear(IPAddress address)
    {
        ArgumentNullException.ThrowIfNull(address);
        var plain = Plain(address);
        if (IPAddress.IsLoopback(plain) || plain.Equals(MetadataV6) || plain.Equals(MetadataV4))
            return true;
        if (plain.AddressFamily == AddressFamily.InterNetworkV6)
            return plain.IsIPv6LinkLocal || plain.IsIPv6Multicast || plain.IsIPv6SiteLocal
                || plain.Equals(IPAddress.IPv6Any);
        var bytes = plain.GetAddressBytes();
        return bytes[0] is 0 or 127 or >= 224 || (bytes[0] == 169 && bytes[1] == 254);
    }

    /// <summary>The IPv4 address that is written inside an IPv6 one, where one is; else the address itself.</summary>
    private static IPAddress Plain(IPAddress address)
    {
        if (address.AddressFamily != AddressFamily.InterNetworkV6)
            return address;
        var bytes = address.GetAddressBytes();
        var isV4Behind = address.IsIPv4MappedToIPv6
            || BinaryPrimitives.ReadUInt64BigEndian(bytes) == 0x0064_ff9b_0000_0000
                && BinaryPrimitives.ReadUInt32BigEndian(bytes.AsSpan(8)) == 0
            || (bytes.AsSpan(0, 12).IndexOfAnyExcept((byte)0) < 0
                && bytes.AsSpan(12, 3).IndexOfAnyExcept((byte)0) >= 0);
        return isV4Behind ? new IPAddress(bytes.AsSpan(12))
            : bytes[0] == 0x20 && bytes[1] == 0x02 ? new IPAddress(bytes.AsSpan(2, 4)) : address;
    }
}
